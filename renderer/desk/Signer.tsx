import { Field } from '../parts/Field.tsx'
import { SignedAs } from '../parts/SignedAs.tsx'
import { Tick } from '../parts/Tick.tsx'
import { SignerAnswers } from './SignerAnswers.tsx'
import { type Answers, statementsOf } from './signer.model.ts'

/** What whoever signs a certificate says and types, whatever the certificate is of. */
export interface SignerDraft {
  password: string
  answers: Answers
  gapsKnown: boolean
  keyPassword: string
  keyKept: boolean
}

/** What the station says of a signature before it is given. */
export interface SignerHolds {
  gaps: readonly string[]
  hasKey: boolean
  keepsPassword: boolean
}

/** Whether something that every signature needs is still missing. */
export const lacksForSigning = (
  draft: SignerDraft,
  holds: SignerHolds | undefined,
  needsPassword: boolean,
): boolean =>
  !holds ||
  (needsPassword && draft.password === '') ||
  statementsOf(draft.answers) === null ||
  (holds.gaps.length > 0 && !draft.gapsKnown)

interface KnownProps {
  label: string
  doubts: readonly string[]
  known: boolean
  /** What is accepted by the tick. */
  words: string
  onKnown: (known: boolean) => void
}

/** Doubts that a signer has to have seen; nothing where there are none. */
export function KnownDoubts({ label, doubts, known, words, onKnown }: KnownProps) {
  if (doubts.length === 0) return null
  return (
    <>
      <Doubts label={label} doubts={doubts} />
      <Tick on={known} onChange={onKnown}>
        {words}
      </Tick>
    </>
  )
}

export function Doubts({ label, doubts }: { label: string; doubts: readonly string[] }) {
  return (
    <ul className="checks" aria-label={label}>
      {doubts.map((words) => (
        <li key={words} className="check check-warning">
          {words}
        </li>
      ))}
    </ul>
  )
}

interface Props<D extends SignerDraft> {
  who: string | undefined
  needsPassword: boolean
  draft: D
  holds: SignerHolds | undefined
  /** What the key signs, as in 'Signs ... electronically'. */
  signs: string
  onChange: (draft: D) => void
}

export function GapsKnown<D extends SignerDraft>({
  draft,
  holds,
  onChange,
}: Pick<Props<D>, 'draft' | 'holds' | 'onChange'>) {
  return (
    <KnownDoubts
      label="Gaps in the chain to the SI"
      doubts={holds?.gaps ?? []}
      known={draft.gapsKnown}
      words="Sign all the same: the certificate says that traceability is not shown in full"
      onKnown={(gapsKnown) => onChange({ ...draft, gapsKnown })}
    />
  )
}

/** Who signs, what they state, and with which key. */
export function SignerFields<D extends SignerDraft>({
  who,
  needsPassword,
  draft,
  holds,
  signs,
  onChange,
}: Props<D>) {
  return (
    <>
      <SignerAnswers answers={draft.answers} onChange={(answers) => onChange({ ...draft, answers })} />
      <SignedAs who={who} />
      {needsPassword && (
        <Field
          label="Your password, once more"
          type="password"
          value={draft.password}
          onChange={(password) => onChange({ ...draft, password })}
        />
      )}
      {holds?.keepsPassword && (
        <Tick on={draft.keyKept} onChange={(keyKept) => onChange({ ...draft, keyKept })}>
          {`Sign ${signs} electronically, with the key whose password this computer keeps`}
        </Tick>
      )}
      {holds?.hasKey && !holds.keepsPassword && (
        <Field
          label="Password of the signing key"
          type="password"
          value={draft.keyPassword}
          onChange={(keyPassword) => onChange({ ...draft, keyPassword })}
          about={`Signs ${signs} electronically. Leave it empty to sign on paper; the password is kept nowhere.`}
        />
      )}
    </>
  )
}
