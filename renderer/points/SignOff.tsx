import { Ask } from '../parts/Ask.tsx'
import { Field } from '../parts/Field.tsx'

export interface SignOffDraft {
  person: string
  password: string
  remark: string
}

interface Props {
  draft: SignOffDraft
  session: string
  /** What is not as it was planned, in words. */
  doubts: readonly string[]
  problem: string | undefined
  onChange: (draft: SignOffDraft) => void
  onSign: () => void
  onClose: () => void
}

export function SignOff({ draft, session, doubts, problem, onChange, onSign, onClose }: Props) {
  const set = (part: Partial<SignOffDraft>) => onChange({ ...draft, ...part })
  return (
    <Ask
      title="Sign off the report"
      act="Sign off"
      danger
      disabled={draft.person.trim() === '' || draft.password === ''}
      problem={problem}
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
      <Field label="Who signs" value={draft.person} onChange={(person) => set({ person })} />
      <Field
        label="Custodian's password"
        type="password"
        value={draft.password}
        onChange={(password) => set({ password })}
        about="The one set in Register. No password is set when a station is new."
      />
      <Field label="Remark" value={draft.remark} lines={2} onChange={(remark) => set({ remark })} />
    </Ask>
  )
}
