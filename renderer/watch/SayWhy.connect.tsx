import { useState } from 'react'
import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { say } from '../page/page.ts'
import { useMay, usePerson } from '../page/person.ts'
import { Button } from '../parts/Button.tsx'
import { Reason } from '../parts/Reason.tsx'

async function keep(words: string): Promise<string> {
  const { rows } = await station.archive.sessions({ most: 1 })
  const session = rows[0]?.info.id
  if (session === undefined) throw new Error('There is no session to add this to.')
  return (await station.archive.annotate({ session, words })).words
}

/** A stop is obeyed first; why it was may be said afterwards, and is added to the session that it ended. */
export function SayWhy() {
  const may = useMay('operate')
  const who = usePerson().person?.name
  const [why, setWhy] = useState<string>()
  const { problem, attempt } = useAct()
  if (!may) return null
  return (
    <>
      <Button onPress={() => setWhy('')}>Say why it was stopped</Button>
      {why !== undefined && (
        <Reason
          title="Why the session was stopped"
          words="The reason is added to the session with its time. Nothing in the session is changed."
          act="Keep the reason"
          who={who}
          why={why}
          problem={problem}
          onWhy={setWhy}
          onClose={() => setWhy(undefined)}
          onAct={() =>
            void attempt(keep(`Why it was stopped: ${why}`), (words) => {
              say(words)
              setWhy(undefined)
            })
          }
        />
      )}
    </>
  )
}
