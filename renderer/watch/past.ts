import { useEffect, useState, useSyncExternalStore } from 'react'
import { useJoining } from '../client/state.ts'
import { board } from '../live/listen.ts'
import { isDifference } from '../live/quantity.ts'
import { type SetpointAt, shownAt, shownSince } from '../live/shown.ts'
import { valueOn } from '../live/track.ts'
import type { PastLane } from '../plots/spec.ts'
import { inTurn } from './in-turn.ts'
import { differencesFrom, laneFrom } from './record.ts'
import { type WatchChoice, windowOf } from './watch.model.ts'

const NOTHING: Map<string, PastLane> = new Map()

/** What is in view but older than the rings, for every visible channel, from the record. */
export function usePast(
  session: string | undefined,
  channels: readonly string[],
  choice: WatchChoice,
): Map<string, PastLane> {
  const [past, setPast] = useState(NOTHING)
  const { follow, spanS, held, shown, base } = choice
  const list = channels.join('\n')
  const { round } = useJoining()
  const generation = useSyncExternalStore(board.onDidClear, () => board.generation)
  // biome-ignore lint/correctness/useExhaustiveDependencies: only what moves the window, and a new link or new rings
  useEffect(() => {
    if (!session) return setPast(NOTHING)
    const stop = new AbortController()
    const { signal } = stop
    const load = async () => {
      await sleep(150)
      // Until the newest reading is known nobody can say what lies before the rings.
      while (!Number.isFinite(board.newestTime) && !signal.aborted) await sleep(100)
      const window = windowOf({ ...choice, follow, spanS, held }, board.newestTime)
      const wanted = list.split('\n').filter((id) => id !== '' && reachesBack(id, choice, window.from))
      if (wanted.length === 0 || signal.aborted) return setPast(NOTHING)
      const differences =
        base !== null && wanted.some((id) => isDifference(choice, id))
          ? differencesFrom(session, base, shown, window, signal)
          : undefined
      const found = new Map<string, PastLane>()
      await inTurn(wanted, signal, async (id) => {
        const lane =
          differences && isDifference(choice, id)
            ? differences(id)
            : laneFrom(session, id, shown, window, signal)
        found.set(id, await lane)
      })
      if (!signal.aborted) setPast(found)
    }
    // Without the record the plot shows what the rings have; the next change of view asks again.
    load().catch(() => undefined)
    return () => stop.abort()
  }, [session, list, follow, spanS, held, shown, base, round, generation])
  return past
}

/** What the plot shows of a channel at a moment, from the rings or, before them, from the record; NaN in a gap. */
export function numberAt(
  past: Map<string, PastLane>,
  channel: string,
  choice: WatchChoice,
  time: number,
  setpointAt: SetpointAt,
): number {
  const live = shownAt(board, channel, choice, time, setpointAt)
  const lane = past.get(channel)
  return Number.isFinite(live) || !lane ? live : valueOn({ t: lane.t, v: lane.mid }, time)
}

const sleep = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms))

/** Whether a channel's ring begins after `from`. */
function reachesBack(channel: string, choice: WatchChoice, from: number): boolean {
  return !(from >= shownSince(board, channel, choice))
}
