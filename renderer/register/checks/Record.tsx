import type { ReactNode } from 'react'
import { Button } from '../../parts/Button.tsx'
import { Field } from '../../parts/Field.tsx'
import { Problem } from '../../parts/Problem.tsx'

interface Props {
  act: string
  why: string
  locked: boolean
  ready: boolean
  missing: string | undefined
  follows: readonly string[]
  problem: string | undefined
  children: ReactNode
  onWhy: (why: string) => void
  onAct: () => void
}

/** The last step of a check: what recording it changes, and the act. */
export function RecordPanel(props: Props) {
  const { act, why, locked, ready, missing, follows } = props
  return (
    <section className="sheet" aria-label="Into the register">
      <h3>Into the register</h3>
      <ul className="follows">
        {follows.map((words) => (
          <li key={words}>{words}</li>
        ))}
      </ul>
      {props.children}
      <Field label="Why" value={why} onChange={props.onWhy} about="Kept in the ledger with your name." />
      {!ready && missing && <p className="faint">{missing}</p>}
      <Problem words={props.problem} />
      <div className="row">
        {!locked && (
          <Button look="main" onPress={props.onAct} disabled={!ready || why.trim() === ''}>
            {act}
          </Button>
        )}
        {locked && <span className="faint">Only who keeps the records changes them.</span>}
        {!locked && ready && why.trim() === '' && <span className="faint">Say why first.</span>}
      </div>
    </section>
  )
}
