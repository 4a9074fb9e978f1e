import { useMemo, useState } from 'react'
import { useAct } from '../client/act.ts'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { stationState, useStation } from '../client/state.ts'
import { askRun, type RunAct, useAsked } from '../desk/run.store.ts'
import { useCommands } from '../page/hooks.ts'
import { type Command, say } from '../page/page.ts'
import { useMay, usePerson } from '../page/person.ts'
import { Reason } from '../parts/Reason.tsx'
import { Question } from './Question.tsx'
import { STOP_RECORDING_WORDS, skipWords, stopWords } from './words.ts'

/** `words` are empty where they depend on where the bath is. */
const ASKS: Record<
  Exclude<RunAct, 'pause'>,
  { title: string; words: string; act: string; danger?: boolean }
> = {
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

const told = (answer: Promise<{ words: string }>): void =>
  void answer.then(
    ({ words }) => say(words),
    (fault) => say(wordsOf(fault), 'problem'),
  )

export const resumeRun = (): void => told(station.run.resume())
/** A pause heats and loses nothing, so it is taken at once; its reason may follow as a note. */
const pauseRun = (): void => told(station.run.pause({ why: '' }))

const isLook = (): boolean => stationState.getState().now?.session?.look === true

/** What a press on the bar does: at once, or after a question that says what follows. A look ends without one. */
export function actOnRun(act: RunAct): void {
  if (act === 'pause') pauseRun()
  else if (act === 'stop' && isLook()) told(station.run.stop({}))
  else askRun(act)
}

const NONE: readonly Command[] = []
const command = (id: string, words: string, run: () => void): Command => ({
  id: `run-${id}`,
  words,
  group: 'The running session',
  run,
})
const OTHERS: readonly Command[] = [
  command('take', 'Take the point now', () => askRun('takeNow')),
  command('skip', 'Skip this setpoint', () => askRun('skip')),
  command('note', 'Write a note', () => askRun('note')),
  command('stop', 'Stop the session', () => askRun('stop')),
]
const RUNNING = [command('pause', 'Pause the plan', pauseRun), ...OTHERS]
const RECORDING = OTHERS.filter(({ id }) => id === 'run-note' || id === 'run-stop')
const PAUSED = [command('resume', 'Let the plan go on', resumeRun), ...OTHERS]

/** What a person does to the running night, from every place: its commands, and the question before each. */
export function RunAskNow() {
  const phase = useStation((state) => state?.runner.phase ?? 'idle')
  const asked = useAsked()
  const recording = useStation((state) => state?.runner.steps === 0)
  const on = phase !== 'idle' && phase !== 'ended'
  const commands = recording ? RECORDING : phase === 'paused' ? PAUSED : RUNNING
  const may = useMay('operate')
  useCommands('run', on && may ? commands : NONE)
  return asked && on && may ? <Asked act={asked} /> : null
}

/** Where the bath is sent at the end, degC. */
function useSafeC(): number | null {
  const version = useStation((state) => state?.versions.bench)
  const bench = useAnswer(() => station.bench.get(), [version])
  return bench.data?.bath?.safeC ?? null
}

function Asked({ act }: { act: Exclude<RunAct, 'pause'> }) {
  const setpointC = useStation((state) => state!.runner.setpointC)
  const nextC = useStation(
    (state) =>
      state?.strip.find((m) => m.kind === 'expected-setpoint' && m.fromUtcUs > state.utcUs)?.celsius ?? null,
  )
  const recording = useStation((state) => state?.runner.steps === 0)
  const safeC = useSafeC()
  const who = usePerson().person?.name
  const [why, setWhy] = useState('')
  const { problem, attempt } = useAct()
  const words = useMemo(() => {
    if (act === 'skip') return skipWords(setpointC, nextC, safeC)
    if (act === 'stop') return recording ? STOP_RECORDING_WORDS : stopWords(setpointC, safeC)
    return ASKS[act].words
  }, [act, setpointC, nextC, safeC, recording])
  return (
    <Reason
      {...ASKS[act]}
      words={words}
      who={who}
      why={why}
      {...(act === 'note' && { label: 'Note' })}
      whyOptional={act !== 'note'}
      problem={problem}
      onWhy={setWhy}
      onClose={() => askRun(null)}
      onAct={() => {
        const answer = act === 'note' ? station.run.note({ words: why }) : station.run[act]({ why })
        attempt(answer, ({ words: done }) => {
          say(done)
          askRun(null)
        })
      }}
    />
  )
}

/** A question of the running night to whoever is there, above every place. */
export function QuestionNow() {
  const question = useStation((state) => state?.runner.question ?? null)
  const setpointC = useStation((state) => state?.runner.setpointC ?? null)
  const safeC = useSafeC()
  const cells = useStation((state) => state?.runner.cells !== undefined)
  if (!question) return null
  return (
    <Question
      words={question.words}
      choices={question.choices}
      stopWords={cells ? STOP_RECORDING_WORDS : stopWords(setpointC, safeC)}
      onAnswer={(choice) => told(station.run.answer({ question: question.id, choice }))}
    />
  )
}
