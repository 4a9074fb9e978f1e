import {
  GapsKnown,
  lacksForSigning,
  type SignerDraft,
  SignerFields,
  type SignerHolds,
} from '../desk/Signer.tsx'
import { Ask } from '../parts/Ask.tsx'

interface Props {
  title: string
  who: string | undefined
  needsPassword: boolean
  draft: SignerDraft
  holds: SignerHolds | undefined
  problem: string | undefined
  onChange: (draft: SignerDraft) => void
  onSign: () => void
  onClose: () => void
}

/** Signs the certificate of work in the register: fixed points, or a resistor's comparison. */
export function SignWork({ title, problem, onSign, onClose, ...signer }: Props) {
  const { draft, holds, needsPassword } = signer
  return (
    <Ask
      title={title}
      act="Sign"
      danger
      disabled={lacksForSigning(draft, holds, needsPassword)}
      problem={problem}
      onAct={onSign}
      onClose={onClose}
    >
      <p>
        The certificate gets its number from the laboratory's series, and neither it nor the work it states
        changes from then on.
      </p>
      <GapsKnown {...signer} />
      <SignerFields {...signer} signs="PDF and XML" />
    </Ask>
  )
}
