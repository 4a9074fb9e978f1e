import { Ask } from '../parts/Ask.tsx'
import { Field } from '../parts/Field.tsx'

interface Props {
  first: boolean
  name: string
  password: string
  problem: string | undefined
  onName: (name: string) => void
  onPassword: (password: string) => void
  onUnlock: () => void
  onClose: () => void
}

const LEAST = 8

/** The register is changed by its custodian only. A new station has none and asks for one here. */
export function Custodian({ first, name, password, problem, onName, onPassword, onUnlock, onClose }: Props) {
  return (
    <Ask
      title={first ? 'Name a custodian' : 'Unlock the register'}
      act={first ? 'Set the password' : 'Unlock'}
      disabled={name.trim() === '' || password.length < LEAST}
      problem={problem}
      onAct={onUnlock}
      onClose={onClose}
    >
      <p>
        {first
          ? 'This station has no custodian yet. Whoever knows this password may change coefficients and sign reports; the ledger keeps every change under this name.'
          : 'For an hour from now, this window may change records. Each change is kept in the ledger.'}
      </p>
      <Field label="Name" value={name} onChange={onName} />
      <Field
        label="Password"
        type="password"
        value={password}
        onChange={onPassword}
        onEnter={() => name.trim() !== '' && password.length >= LEAST && onUnlock()}
        about={first ? 'At least 8 characters. It cannot be shown again.' : undefined}
      />
    </Ask>
  )
}
