import { useState } from 'react'
import { useStore } from 'zustand'
import { createStore } from 'zustand/vanilla'
import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { goTo, say } from '../page/page.ts'
import { Ask } from '../parts/Ask.tsx'
import { Field } from '../parts/Field.tsx'

/** Entry of the ledger that somebody wants to take back. */
const asked = createStore<{ n: number | null }>(() => ({ n: null }))

/** Asks for the reason, wherever the window is. */
export function askToTakeBack(n: number): void {
  asked.setState({ n })
  goTo('register')
}

/** Says that a record was saved, and offers the way back for as long as that stands on the screen. */
export async function saySaved(words: string, id: string): Promise<void> {
  const newest = await station.register.ledger({ subject: id, most: 1 }).then(
    ({ rows }) => rows[0],
    () => undefined,
  )
  say(words, 'done', newest?.canTakeBack ? () => askToTakeBack(newest.n) : undefined)
}

/** Takes a save back as a change of its own, with a reason. */
export function TakeBackNow() {
  const n = useStore(asked, (state) => state.n)
  const [why, setWhy] = useState('')
  const { problem, attempt, refuse } = useAct()
  const close = () => {
    asked.setState({ n: null })
    setWhy('')
    refuse(undefined)
  }
  if (n === null) return null
  return (
    <Ask
      title="Take the save back"
      act="Take it back"
      disabled={why.trim() === ''}
      problem={problem}
      onClose={close}
      onAct={() =>
        attempt(station.register.restore({ ledger: n, why }), ({ words }) => {
          say(words)
          close()
        })
      }
    >
      <p>{`The record is saved again as it stood before entry ${n} of the ledger. Both changes stay in the ledger; sessions keep what they were made with.`}</p>
      <Field label="Why" value={why} onChange={setWhy} lines={2} about="Kept in the ledger." />
    </Ask>
  )
}
