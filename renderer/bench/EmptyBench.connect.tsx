import { useState } from 'react'
import { wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { goTo, say } from '../shell/page.ts'
import { benchStore } from './bench.store.ts'
import { EmptyBench as Panel } from './EmptyBench.tsx'

export function EmptyBench() {
  const [starting, setStarting] = useState(false)
  const [problem, setProblem] = useState<string | undefined>()
  return (
    <Panel
      starting={starting}
      problem={problem}
      onSetUp={() => {
        benchStore.getState().begin()
        goTo('bench')
      }}
      onTry={async () => {
        setStarting(true)
        setProblem(undefined)
        try {
          const { words } = await station.bench.startLab({})
          say(words)
          goTo('plan')
        } catch (fault) {
          setProblem(wordsOf(fault))
        }
        setStarting(false)
      }}
    />
  )
}
