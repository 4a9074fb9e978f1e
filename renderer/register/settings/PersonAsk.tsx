import { RIGHT_WORDS, RIGHTS, type Right } from '../../../app/records/person.ts'
import { Ask } from '../../parts/Ask.tsx'
import { Field } from '../../parts/Field.tsx'
import { Tick } from '../../parts/Tick.tsx'

export interface PersonDraft {
  id: string | undefined
  name: string
  position: string
  rights: readonly Right[]
  closed: boolean
  password: string
}

interface Props {
  draft: PersonDraft
  problem: string | undefined
  onChange: (draft: PersonDraft) => void
  onSave: () => void
  onClose: () => void
}

/** One person: a name for good, what the person may do, and a password to begin with. */
export function PersonAsk({ draft, problem, onChange, onSave, onClose }: Props) {
  const set = (part: Partial<PersonDraft>) => onChange({ ...draft, ...part })
  const known = draft.id !== undefined
  return (
    <Ask
      title={known ? draft.name : 'Enter a person'}
      act="Save"
      disabled={draft.name.trim() === '' || (!known && draft.password === '')}
      problem={problem}
      onAct={onSave}
      onClose={onClose}
    >
      {!known && (
        <Field
          label="Name"
          value={draft.name}
          onChange={(name) => set({ name })}
          about="As it stands in records and on certificates. It stays."
        />
      )}
      <Field label="Position" value={draft.position} onChange={(position) => set({ position })} />
      {RIGHTS.map((right) => (
        <Tick
          key={right}
          on={draft.rights.includes(right)}
          onChange={(on) =>
            set({ rights: RIGHTS.filter((one) => (one === right ? on : draft.rights.includes(one))) })
          }
        >
          {`May ${RIGHT_WORDS[right]}`}
        </Tick>
      ))}
      <Field
        label={known ? 'A new password, where the old one is forgotten' : 'Password to begin with'}
        type="password"
        value={draft.password}
        onChange={(password) => set({ password })}
        about="At least 12 characters. The person can change it."
      />
      {known && (
        <Tick on={draft.closed} onChange={(closed) => set({ closed })}>
          Does not work here any more
        </Tick>
      )}
    </Ask>
  )
}
