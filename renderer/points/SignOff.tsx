import { SignerAnswers } from '../desk/SignerAnswers.tsx'
import { type Answers, statementsOf } from '../desk/signer.model.ts'
import { Ask } from '../parts/Ask.tsx'
import { Field } from '../parts/Field.tsx'
import { SignedAs } from '../parts/SignedAs.tsx'
import { Tick } from '../parts/Tick.tsx'

export interface SignOffDraft {
  password: string
  remark: string
  answers: Answers
  gapsKnown: boolean
  findingsKnown: boolean
  keyPassword: string
  keyKept: boolean
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
  holds:
    | {
        refusal: string | null
        gaps: readonly string[]
        findings: readonly string[]
        hasKey: boolean
        keepsPassword: boolean
      }
    | undefined
  problem: string | undefined
  onChange: (draft: SignOffDraft) => void
  onSign: () => void
  onClose: () => void
}

export function SignOff(props: Props) {
  const { who, needsPassword, draft, session, doubts, holds, problem, onChange, onSign, onClose } = props
  const set = (part: Partial<SignOffDraft>) => onChange({ ...draft, ...part })
  return (
    <Ask
      title="Sign off the report"
      act="Sign off"
      danger
      disabled={
        (needsPassword && draft.password === '') ||
        statementsOf(draft.answers) === null ||
        !holds ||
        holds.refusal !== null ||
        (holds.gaps.length > 0 && !draft.gapsKnown) ||
        (holds.findings.length > 0 && !draft.findingsKnown)
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
      {doubts.length > 0 && (
        <ul className="checks" aria-label="Before signing">
          {doubts.map((words) => (
            <li key={words} className="check check-warning">
              {words}
            </li>
          ))}
        </ul>
      )}
      {holds && holds.gaps.length > 0 && (
        <>
          <ul className="checks" aria-label="Gaps in the chain to the SI">
            {holds.gaps.map((words) => (
              <li key={words} className="check check-warning">
                {words}
              </li>
            ))}
          </ul>
          <Tick on={draft.gapsKnown} onChange={(gapsKnown) => set({ gapsKnown })}>
            Sign all the same: the certificate says that traceability is not shown in full
          </Tick>
        </>
      )}
      {holds && holds.findings.length > 0 && (
        <>
          <ul className="checks" aria-label="What speaks against the results, and what was not checked">
            {holds.findings.map((words) => (
              <li key={words} className="check check-warning">
                {words}
              </li>
            ))}
          </ul>
          <Tick on={draft.findingsKnown} onChange={(findingsKnown) => set({ findingsKnown })}>
            Sign all the same: each of these was looked at, and the report states them
          </Tick>
        </>
      )}
      <SignerAnswers answers={draft.answers} onChange={(answers) => set({ answers })} />
      <SignedAs who={who} />
      {needsPassword && (
        <Field
          label="Your password, once more"
          type="password"
          value={draft.password}
          onChange={(password) => set({ password })}
        />
      )}
      {holds?.keepsPassword && (
        <Tick on={draft.keyKept} onChange={(keyKept) => set({ keyKept })}>
          Sign the certificates electronically, with the key whose password this computer keeps
        </Tick>
      )}
      {holds?.hasKey && !holds.keepsPassword && (
        <Field
          label="Password of the signing key"
          type="password"
          value={draft.keyPassword}
          onChange={(keyPassword) => set({ keyPassword })}
          about="Signs the certificates electronically. Leave it empty to sign on paper; the password is kept nowhere."
        />
      )}
      <Field label="Remark" value={draft.remark} lines={2} onChange={(remark) => set({ remark })} />
    </Ask>
  )
}
