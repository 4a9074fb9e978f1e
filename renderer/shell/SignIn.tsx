import { Ask } from '../parts/Ask.tsx'
import { Field } from '../parts/Field.tsx'
import { Tick } from '../parts/Tick.tsx'

export interface SignInDraft {
  name: string
  password: string
  stay: boolean
}

interface Props {
  /** The first person of a station, who may do everything. */
  first: boolean
  /** Before the station is joined: its door neither closes nor keeps anybody in for long. */
  atDoor?: boolean
  draft: SignInDraft
  problem: string | undefined
  onChange: (draft: SignInDraft) => void
  onEnter: () => void
  onClose: () => void
}

/** As the station asks it. */
const LEAST = 12

/** Who sits here: what is decided stands in the records under a name. */
export function SignIn({ first, atDoor = false, draft, problem, onChange, onEnter, onClose }: Props) {
  const set = (part: Partial<SignInDraft>) => onChange({ ...draft, ...part })
  const ready = draft.name.trim() !== '' && draft.password.length >= (first ? LEAST : 1)
  return (
    <Ask
      title={first ? 'Who works here' : 'Sign in'}
      act={first ? 'Enter this person' : 'Sign in'}
      disabled={!ready}
      problem={problem}
      onAct={onEnter}
      onClose={onClose}
    >
      <p>
        {first
          ? 'Nobody has been entered at this station yet. You are the first and may do everything here; others can be entered in Register, under Station.'
          : 'What is changed or decided stands in the records under your name.'}
      </p>
      <Field label="Name" value={draft.name} onChange={(name) => set({ name })} />
      <Field
        label="Password"
        type="password"
        value={draft.password}
        onChange={(password) => set({ password })}
        onEnter={() => ready && onEnter()}
        about={
          first ? `At least ${LEAST} characters, such as a few words. It cannot be shown again.` : undefined
        }
      />
      {!first && !atDoor && (
        <Tick on={draft.stay} onChange={(stay) => set({ stay })}>
          This computer is mine: stay signed in
        </Tick>
      )}
    </Ask>
  )
}
