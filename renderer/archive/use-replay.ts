import { useEffect, useRef, useState } from 'react'
import type { StationState } from '../../app/contract/views.ts'
import { wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { say } from '../page/page.ts'
import { addToTrails, paceOf, STILL, type Trails } from './replay.model.ts'

const BEGIN_SPEED = 300

/** A replay of a session: where it is, how fast it goes, and the ways to move it. */
export function useReplay(session: string, at?: number) {
  const [state, setState] = useState<StationState>()
  const [trails, setTrails] = useState<Trails>(new Map())
  const [pace, setPace] = useState<number>()
  const [speed, setSpeed] = useState(BEGIN_SPEED)
  const [coefficients, setCoefficients] = useState<'then' | 'now'>('then')
  const [running, setRunning] = useState(false)
  const [jumps, setJumps] = useState(0)
  /** Where the next stretch begins; undefined: at the start. */
  const from = useRef<number | undefined>(at)
  const asked = running ? speed : STILL
  // Each change begins a new stretch where the last one stands. A replay that stands still shows its moment.
  // biome-ignore lint/correctness/useExhaustiveDependencies: a jump sets where the next stretch begins
  useEffect(() => {
    const stop = new AbortController()
    let before: { utcUs: number; wallMs: number } | undefined
    const take = (next: StationState) => {
      const now = { utcUs: next.utcUs, wallMs: performance.now() }
      from.current = next.utcUs
      setState(next)
      setTrails((old) => addToTrails(old, next))
      if (before) setPace(paceOf(before, now))
      before = now
    }
    const run = async () => {
      const begins = from.current === undefined ? {} : { fromUtcUs: from.current }
      const input = { session, speed: asked, coefficients, ...begins }
      for await (const next of await station.archive.replay(input, { signal: stop.signal })) {
        if (stop.signal.aborted) return
        take(next)
        if (!running) return
      }
      setRunning(false)
    }
    run().catch((fault) => {
      if (stop.signal.aborted) return
      setRunning(false)
      say(wordsOf(fault), 'problem')
    })
    return () => stop.abort()
  }, [session, running, asked, coefficients, jumps])
  const go = (utcUs: number | undefined) => {
    from.current = utcUs
    setJumps((n) => n + 1)
  }
  const ended = state?.runner.phase === 'ended'
  return {
    state,
    trails,
    pace,
    speed,
    coefficients,
    running,
    ended,
    setSpeed,
    setCoefficients,
    go,
    stop: () => setRunning(false),
    start: () => {
      if (ended) from.current = undefined
      setRunning(true)
    },
  }
}
