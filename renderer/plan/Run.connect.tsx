import { useState } from 'react'
import { wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { Reason } from '../parts/Reason.tsx'
import { page, say, setWho, usePage } from '../shell/page.ts'
import { type RunAct, RunBand } from './RunBand.tsx'

const ASKS: Record<RunAct, { title: string; words: string; act: string; danger?: boolean }> = {
  pause: {
    title: 'Pause the plan',
    words: 'The bath stays at its setpoint and readings go on. The plan waits until you let it go on.',
    act: 'Pause',
  },
  takeNow: {
    title: 'Take the point now',
    words:
      'The point is taken although the settling rule does not hold yet. It carries a mark, and the report says so.',
    act: 'Take it now',
  },
  skip: {
    title: 'Skip this setpoint',
    words: 'No point is taken here. The bath goes to the next setpoint of the plan.',
    act: 'Skip',
  },
  stop: {
    title: 'Stop the session',
    words:
      'Reading ends, the session is closed and the bath goes to its safe setpoint. What was taken is kept. A stopped session cannot be taken up again.',
    act: 'Stop the session',
    danger: true,
  },
  note: {
    title: 'Write a note',
    words: 'It is kept with the session and its time, and drawn on the night strip.',
    act: 'Keep the note',
  },
}

export function RunNow() {
  const runner = useStation((state) => state!.runner)
  const group = useStation((state) => state!.group)
  const who = usePage((state) => state.who)
  const [asked, setAsked] = useState<RunAct | null>(null)
  const [why, setWhy] = useState('')
  const [problem, setProblem] = useState<string>()
  const told = (answer: Promise<{ words: string }>) =>
    answer.then(
      ({ words }) => {
        say(words)
        setAsked(null)
        setWhy('')
      },
      (fault) => (asked ? setProblem(wordsOf(fault)) : say(wordsOf(fault), 'problem')),
    )
  const name = () => page.getState().who || 'someone at the window'
  return (
    <>
      <RunBand
        runner={runner}
        group={group}
        onAct={(act) => {
          setProblem(undefined)
          setAsked(act)
        }}
        onResume={() => told(station.run.resume({ who: name() }))}
        onAnswer={(choice) =>
          told(station.run.answer({ question: runner.question!.id, choice, who: name() }))
        }
      />
      {asked && (
        <Reason
          {...ASKS[asked]}
          who={who}
          why={why}
          problem={problem}
          onWho={setWho}
          onWhy={setWhy}
          onClose={() => setAsked(null)}
          onAct={() =>
            told(asked === 'note' ? station.run.note({ who, words: why }) : station.run[asked]({ who, why }))
          }
        />
      )}
    </>
  )
}
