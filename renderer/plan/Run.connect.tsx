import { useState } from 'react'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { Reason } from '../parts/Reason.tsx'
import { page, say, setWho, usePage } from '../shell/page.ts'
import { type RunAct, RunBand } from './RunBand.tsx'
import { skipWords, stopWords } from './words.ts'

/** `words` are empty where they depend on where the bath is. */
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
    words: '',
    act: 'Skip',
  },
  stop: {
    title: 'Stop the session',
    words: '',
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
  const version = useStation((state) => state?.versions.bench)
  const bench = useAnswer(() => station.bench.get(), [version])
  const safeC = bench.data?.bath?.safeC ?? null
  const nextC = useStation(
    (state) =>
      state?.strip.find((m) => m.kind === 'expected-setpoint' && m.fromUtcUs > state.utcUs)?.celsius ?? null,
  )
  const wordsOfAct = (act: RunAct) => {
    if (act === 'skip') return skipWords(runner.setpointC, nextC, safeC)
    return act === 'stop' ? stopWords(runner.setpointC, safeC) : ASKS[act].words
  }
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
          words={wordsOfAct(asked)}
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
