import { useState } from 'react'
import { wordsOf } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { useStation } from '../../client/state.ts'
import { say, setWho, usePage } from '../../shell/page.ts'
import { Recording } from './Recording.tsx'

/** Records the bench without a plan, for as long as a plateau or a set of ratios takes. */
export function RecordingNow({ name: proposed }: { name: string }) {
  const who = usePage((state) => state.who)
  const bench = useStation((state) => state?.bench?.name)
  const session = useStation((state) => state?.session)
  const planned = useStation((state) => (state?.runner.steps ?? 0) > 0)
  const [name, setName] = useState(proposed)
  const [problem, setProblem] = useState<string>()
  const doing = (answer: Promise<unknown>, words: string) =>
    answer.then(
      () => {
        setProblem(undefined)
        say(words)
      },
      (fault) => setProblem(wordsOf(fault)),
    )
  return (
    <Recording
      bench={bench}
      session={session ?? undefined}
      planned={planned}
      who={who}
      name={name}
      problem={problem}
      onWho={setWho}
      onName={setName}
      onStart={() =>
        void doing(
          station.run.record({ operator: who.trim(), name: name.trim() }),
          'Recording. Watch shows it; it goes on until it is stopped here.',
        )
      }
      onStop={() =>
        void doing(
          station.run.stop({ who: who.trim(), why: 'the record is long enough' }),
          'The record is closed. It stands first in the list of sessions.',
        )
      }
    />
  )
}
