import { useState } from 'react'
import { wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { goTo, say } from '../page/page.ts'

/** Starts the lab in a box and goes on to the plan that comes with it. */
export function useLab(): { starting: boolean; problem: string | undefined; start: () => void } {
  const [starting, setStarting] = useState(false)
  const [problem, setProblem] = useState<string>()
  const start = async () => {
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
  }
  return { starting, problem, start: () => void start() }
}
