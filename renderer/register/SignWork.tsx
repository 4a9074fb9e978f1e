import { SignerAnswers } from '../desk/SignerAnswers.tsx'
import { type Answers, statementsOf } from '../desk/signer.model.ts'
import { Ask } from '../parts/Ask.tsx'
import { Field } from '../parts/Field.tsx'
import { SignedAs } from '../parts/SignedAs.tsx'
import { Tick } from '../parts/Tick.tsx'

export interface SignWorkDraft {
  password: string
  answers: Answers
  gapsKnown: boolean
  keyPassword: string
  keyKept: boolean
}

interface Props {
  title: string
  who: string | undefined
  needsPassword: boolean
  draft: SignWorkDraft
  holds: { gaps: readonly string[]; hasKey: boolean; keepsPassword: boolean } | undefined
  problem: string | undefined
  onChange: (draft: SignWorkDraft) => void
  onSign: () => void
  onClose: () => void
}

/** Signs the certificate of work in the register: fixed points, or a resistor's comparison. */
export function SignWork({ title, who, needsPassword, draft, holds, problem, ...on }: Props) {
  const set = (part: Partial<SignWorkDraft>) => on.onChange({ ...draft, ...part })
  const gaps = holds?.gaps ?? []
  return (
    <Ask
      title={title}
      act="Sign"
      danger
      disabled={
        !holds ||
        (needsPassword && draft.password === '') ||
        statementsOf(draft.answers) === null ||
        (gaps.length > 0 && !draft.gapsKnown)
      }
      problem={problem}
      onAct={on.onSign}
      onClose={on.onClose}
    >
      <p>
        The certificate gets its number from the laboratory's series, and neither it nor the work it states
        changes from then on.
      </p>
      {gaps.length > 0 && (
        <>
          <ul className="checks" aria-label="Gaps in the chain to the SI">
            {gaps.map((words) => (
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
          Sign electronically, with the key whose password this computer keeps
        </Tick>
      )}
      {holds?.hasKey && !holds.keepsPassword && (
        <Field
          label="Password of the signing key"
          type="password"
          value={draft.keyPassword}
          onChange={(keyPassword) => set({ keyPassword })}
          about="Signs PDF and XML electronically. Leave it empty to sign on paper; the password is kept nowhere."
        />
      )}
    </Ask>
  )
}
