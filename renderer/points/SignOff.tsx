import {
  Doubts,
  GapsKnown,
  KnownDoubts,
  lacksForSigning,
  type SignerDraft,
  SignerFields,
  type SignerHolds,
} from '../desk/Signer.tsx'
import { Ask } from '../parts/Ask.tsx'
import { Field } from '../parts/Field.tsx'

export interface SignOffDraft extends SignerDraft {
  remark: string
  findingsKnown: boolean
}

interface Props {
  /** Who signs, and whether a password is asked for. */
  who: string | undefined
  needsPassword: boolean
  draft: SignOffDraft
  session: string
  /** What is not as it was planned, in words. */
  doubts: readonly string[]
  /** Why nothing can be signed, gaps of the chain to the SI, and what speaks against the results. */
  holds: (SignerHolds & { refusal: string | null; findings: readonly string[] }) | undefined
  problem: string | undefined
  onChange: (draft: SignOffDraft) => void
  onSign: () => void
  onClose: () => void
}

export function SignOff({ session, doubts, problem, onSign, onClose, ...signer }: Props) {
  const { draft, holds, needsPassword, onChange } = signer
  const findings = holds?.findings ?? []
  return (
    <Ask
      title="Sign off the report"
      act="Sign off"
      danger
      disabled={
        lacksForSigning(draft, holds, needsPassword) ||
        holds?.refusal !== null ||
        (findings.length > 0 && !draft.findingsKnown)
      }
      problem={problem ?? holds?.refusal ?? undefined}
      onAct={onSign}
      onClose={onClose}
    >
      <p>
        {`The report of ${session} changes from a draft to a signed report. From then on its points are fixed; what changes later is an amendment that names this one. The ledger keeps who signed and when.`}
      </p>
      {!holds && (
        <p className="working" role="status">
          Looking at the chain to the SI and at what speaks against the results
        </p>
      )}
      {doubts.length > 0 && <Doubts label="Before signing" doubts={doubts} />}
      <GapsKnown {...signer} />
      <KnownDoubts
        label="What speaks against the results, and what was not checked"
        doubts={findings}
        known={draft.findingsKnown}
        words="Sign all the same: each of these was looked at, and the report states them"
        onKnown={(findingsKnown) => onChange({ ...draft, findingsKnown })}
      />
      <SignerFields {...signer} signs="the certificates" />
      <Field
        label="Remark"
        value={draft.remark}
        lines={2}
        onChange={(remark) => onChange({ ...draft, remark })}
      />
    </Ask>
  )
}
