import { useMemo } from 'react'
import { decisionsOf } from '../../app/results/analysis-input.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { allOf } from '../client/pages.ts'
import { withDecisions } from './decided.model.ts'

/** The points of a session with what a person has decided about them since, and the setup of its day. */
export function useDecidedPoints(session: string | undefined, version: number | undefined) {
  const points = useAnswer(session ? () => station.points.list({ session }) : undefined, [session, version])
  // The channels of a session do not change while it runs.
  const opened = useAnswer(session ? () => station.archive.open({ session }) : undefined, [session])
  const events = useAnswer(
    session
      ? () =>
          allOf((page) =>
            station.history.events({ session, kinds: ['amendment', 'decision', 'sign-off'], ...page }),
          )
      : undefined,
    [session, version],
  )
  const setup = opened.data?.setup
  const leftOut = useMemo(
    () => (setup && events.data ? decisionsOf(setup, events.data).leftOut : []),
    [setup, events.data],
  )
  const decided = useMemo(() => withDecisions(points.data ?? [], leftOut), [points.data, leftOut])
  const problem = points.problem ?? opened.problem
  const known = (points.data !== undefined && opened.data !== undefined) || problem !== undefined
  return { points: decided, leftOut, opened: opened.data, problem, known }
}
