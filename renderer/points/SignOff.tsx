import { Ask } from '../parts/Ask.tsx'
import { Field } from '../parts/Field.tsx'
import { Tick } from '../parts/Tick.tsx'
import { SignerAnswers } from './SignerAnswers.tsx'
import { type Answers, statementsOf } from './signer.model.ts'

export interface SignOffDraft {
  person: string
  password: string
  remark: string
  answers: Answers
  gapsKnown: boolean
  findingsKnown: boolean
  keyPassword: string
}

interface Props {
  draft: SignOffDraft
  session: string
  /** What is not as it was planned, in words. */
  doubts: readonly string[]
  /** Why nothing can be signed, gaps of the chain to the SI, and what speaks against the results. */
  holds:
    | { refusal: string | null; gaps: readonly string[]; findings: readonly string[]; hasKey: boolean }
    | undefined
  problem: string | undefined
  onChange: (draft: SignOffDraft) => void
  onSign: () => void
  onClose: () => void
}

export function SignOff({ draft, session, doubts, holds, problem, onChange, onSign, onClose }: Props) {
  const set = (part: Partial<SignOffDraft>) => onChange({ ...draft, ...part })
  return (
    <Ask
      title="Sign off the report"
      act="Sign off"
      danger
      disabled={
        draft.person.trim() === '' ||
        draft.password === '' ||
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
      <Field label="Who signs" value={draft.person} onChange={(person) => set({ person })} />
      <Field
        label="Custodian's password"
        type="password"
        value={draft.password}
        onChange={(password) => set({ password })}
        about="The one set in Register. No password is set when a station is new."
      />
      {holds?.hasKey && (
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
