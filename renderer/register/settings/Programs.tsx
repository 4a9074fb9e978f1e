import { useState } from 'react'
import type { TokenLine } from '../../../app/contract/calls-tokens.ts'
import { TOKEN_RIGHT_WORDS, TOKEN_RIGHTS, type TokenRight } from '../../../app/records/api-token.ts'
import { Button } from '../../parts/Button.tsx'
import { Field } from '../../parts/Field.tsx'
import { Problem } from '../../parts/Problem.tsx'
import { Tick } from '../../parts/Tick.tsx'

interface Props {
  tokens: readonly TokenLine[]
  /** A token that was made just now: it is shown this once. */
  made: string | undefined
  problem: string | undefined
  onMake: (wanted: { name: string; rights: TokenRight[]; ends?: string }) => void
  onRevoke: (id: string) => void
}

/** Other programs that talk to this station, and what each may do. */
export function Programs({ tokens, made, problem, onMake, onRevoke }: Props) {
  const [name, setName] = useState('')
  const [ends, setEnds] = useState('')
  const [rights, setRights] = useState<readonly TokenRight[]>(['read-state'])
  const set = (right: TokenRight, on: boolean) =>
    setRights(TOKEN_RIGHTS.filter((one) => (one === right ? on : rights.includes(one))))
  return (
    <section className="sheet" aria-label="Programs">
      <h2>Programs</h2>
      <p className="faint">
        Another program shows a token with each call under /api/v1 of this station’s page. What it does stands
        in the ledger under the token’s name.
      </p>
      <ul className="people">
        {tokens.map((token) => (
          <li key={token.id} className="row row-apart">
            <span>
              <strong>{token.name}</strong> <small className="faint">{aboutOf(token)}</small>
            </span>
            {!token.revoked && (
              <Button
                look="danger"
                label={`Revoke the token of ${token.name}`}
                onPress={() => onRevoke(token.id)}
              >
                Revoke
              </Button>
            )}
          </li>
        ))}
      </ul>
      {made !== undefined && (
        <p role="status">
          Copy this token now; it is not shown again: <code>{made}</code>
        </p>
      )}
      <div className="fields fields-wide">
        <Field label="Program" about="Which one the token is for." value={name} onChange={setName} />
        <Field
          label="Last day"
          about="Such as 2027-01-31. Empty: it holds until it is revoked."
          value={ends}
          onChange={setEnds}
        />
      </div>
      {TOKEN_RIGHTS.map((right) => (
        <Tick key={right} on={rights.includes(right)} onChange={(on) => set(right, on)}>
          {`May ${TOKEN_RIGHT_WORDS[right]}`}
        </Tick>
      ))}
      <Problem words={problem} />
      <div>
        <Button
          disabled={name.trim() === '' || rights.length === 0}
          onPress={() => onMake({ name: name.trim(), rights: [...rights], ...(ends !== '' && { ends }) })}
        >
          Make a token
        </Button>
      </div>
    </section>
  )
}

function aboutOf({ id, rights, made, ends, revoked }: TokenLine): string {
  const day = (utcUs: number) => new Date(utcUs / 1000).toISOString().slice(0, 10)
  if (revoked) return `${id}, revoked on ${day(revoked.utcUs)} by ${revoked.who}`
  const may = rights.map((right) => TOKEN_RIGHT_WORDS[right]).join('; ')
  return `${id}, may ${may}; made on ${day(made.utcUs)} by ${made.who}${ends ? `, until ${ends}` : ''}`
}
