import { Ask } from '../parts/Ask.tsx'
import { Field } from '../parts/Field.tsx'

export interface PasswordDraft {
  old: string
  next: string
}

interface Props {
  name: string
  draft: PasswordDraft
  problem: string | undefined
  onChange: (draft: PasswordDraft) => void
  onAct: () => void
  onClose: () => void
}

export function ChangePassword({ name, draft, problem, onChange, onAct, onClose }: Props) {
  return (
    <Ask
      title="Change the password"
      act="Change it"
      disabled={draft.old === '' || draft.next === ''}
      problem={problem}
      onAct={onAct}
      onClose={onClose}
    >
      <p>{`Of ${name}. Every other window of this person has to sign in again.`}</p>
      <Field
        label="Password of now"
        type="password"
        value={draft.old}
        onChange={(old) => onChange({ ...draft, old })}
      />
      <Field
        label="New password"
        type="password"
        value={draft.next}
        onChange={(next) => onChange({ ...draft, next })}
        about="At least 12 characters."
      />
    </Ask>
  )
}
