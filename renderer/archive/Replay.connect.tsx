import { useEffect, useState } from 'react'
import type { StationState } from '../../app/contract/views.ts'
import { wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { say } from '../shell/page.ts'
import { Replay } from './Replay.tsx'

export function ReplayNow({ session }: { session: string }) {
  const [state, setState] = useState<StationState>()
  const [speed, setSpeed] = useState(300)
  const [coefficients, setCoefficients] = useState<'then' | 'now'>('then')
  const [running, setRunning] = useState(false)
  const [from, setFrom] = useState<number>()
  // A new speed goes on from where the replay stands.
  // biome-ignore lint/correctness/useExhaustiveDependencies: `from` is set only when a replay is begun anew
  useEffect(() => {
    if (!running) return
    const stop = new AbortController()
    const run = async () => {
      const input = { session, speed, coefficients, ...(from === undefined ? {} : { fromUtcUs: from }) }
      for await (const next of await station.archive.replay(input, { signal: stop.signal })) setState(next)
      setRunning(false)
    }
    run().catch((fault) => {
      if (stop.signal.aborted) return
      setRunning(false)
      say(wordsOf(fault), 'problem')
    })
    return () => stop.abort()
  }, [running, session, speed, coefficients])
  return (
    <Replay
      state={state}
      speed={speed}
      coefficients={coefficients}
      running={running}
      onSpeed={(next) => {
        setFrom(state?.utcUs)
        setSpeed(next)
      }}
      onCoefficients={setCoefficients}
      onStart={() => {
        setFrom(undefined)
        setRunning(true)
      }}
      onStop={() => setRunning(false)}
    />
  )
}
