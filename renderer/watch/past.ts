import { useEffect, useState } from 'react'
import { unpackColumns } from '../../app/contract/columns.ts'
import { station } from '../client/connect.ts'
import { board } from '../live/listen.ts'
import type { Shown } from '../live/quantity.ts'
import type { PastLane } from '../plots/pane.ts'
import { type WatchChoice, windowOf } from './watch.model.ts'

const BUCKETS = 1000
const AT_ONCE = 6
const NOTHING: Map<string, PastLane> = new Map()

/** Extremes of what is in view but older than the rings, for every visible channel. */
export function usePast(
  session: string | undefined,
  channels: readonly string[],
  choice: WatchChoice,
): Map<string, PastLane> {
  const [past, setPast] = useState(NOTHING)
  const { follow, spanS, held, shown, base } = choice
  const list = channels.join('\n')
  // biome-ignore lint/correctness/useExhaustiveDependencies: only what moves the window, not every choice
  useEffect(() => {
    if (!session || base !== null) return setPast(NOTHING)
    const stop = new AbortController()
    const load = async () => {
      await sleep(150)
      // Until the newest reading is known nobody can say what lies before the rings.
      while (!Number.isFinite(board.newestTime) && !stop.signal.aborted) await sleep(100)
      const window = windowOf({ ...choice, follow, spanS, held }, board.newestTime)
      const queue = list.split('\n').filter((id) => id !== '' && reachesBack(id, window.from))
      const found = new Map<string, PastLane>()
      const worker = async () => {
        for (let id = queue.shift(); id !== undefined && !stop.signal.aborted; id = queue.shift())
          found.set(id, await askLane(session, id, shown, window, stop.signal))
      }
      await Promise.all(Array.from({ length: AT_ONCE }, worker))
      if (!stop.signal.aborted) setPast(found.size > 0 ? found : NOTHING)
    }
    // Without the record the plot shows what the rings have; the next change of view asks again.
    load().catch(() => undefined)
    return () => stop.abort()
  }, [session, list, follow, spanS, held, shown, base])
  return past
}

const sleep = (ms: number) => new Promise((resolve) => setTimeout(resolve, ms))

/** Whether a channel's ring begins after `from`. */
function reachesBack(channel: string, from: number): boolean {
  const oldest = board.rings.get(channel)?.oldestTime ?? Number.NaN
  return !(from >= oldest)
}

async function askLane(
  session: string,
  channel: string,
  quantity: Shown,
  window: { from: number; to: number },
  signal: AbortSignal,
): Promise<PastLane> {
  const blob = await station.history.overview(
    {
      session,
      channel,
      quantity,
      buckets: BUCKETS,
      fromUtcUs: Math.round(window.from * 1e6),
      toUtcUs: Math.round(window.to * 1e6),
    },
    { signal },
  )
  const { columns } = unpackColumns(await blob.arrayBuffer())
  return {
    t: columns.t as Float64Array,
    min: columns.min as Float64Array,
    max: columns.max as Float64Array,
  }
}
