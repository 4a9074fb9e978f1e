import { useEffect, useState } from 'react'
import { unpackColumns } from '../../app/contract/columns.ts'
import { station } from '../client/connect.ts'
import { board } from '../live/listen.ts'
import type { Shown } from '../live/quantity.ts'
import type { PastLane } from '../plots/pane.ts'
import { type WatchChoice, windowOf } from './watch.model.ts'

const BUCKETS = 500
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
  useEffect(() => {
    if (!session || base !== null) return setPast(NOTHING)
    const stop = new AbortController()
    const timer = setTimeout(async () => {
      const window = windowOf({ ...choice, follow, spanS, held }, board.newestTime)
      const needing = list
        .split('\n')
        .filter(
          (id) =>
            id !== '' && !(window.from >= (board.rings.get(id)?.oldestTime ?? Number.POSITIVE_INFINITY)),
        )
      if (needing.length === 0 || !Number.isFinite(window.from)) return setPast(NOTHING)
      const found = new Map<string, PastLane>()
      const queue = [...needing]
      const worker = async () => {
        for (let id = queue.shift(); id !== undefined && !stop.signal.aborted; id = queue.shift())
          found.set(id, await askLane(session, id, shown, window, stop.signal))
      }
      try {
        await Promise.all(Array.from({ length: AT_ONCE }, worker))
        if (!stop.signal.aborted) setPast(found)
      } catch {
        // Without the record the plot shows what the rings have; the next change of view asks again.
      }
    }, 150)
    return () => {
      clearTimeout(timer)
      stop.abort()
    }
    // `choice` as a whole would ask anew for a change of colour.
    // biome-ignore lint/correctness/useExhaustiveDependencies: only what moves the window
  }, [session, list, follow, spanS, held, shown, base])
  return past
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
    t: columns['t'] as Float64Array,
    min: columns['min'] as Float64Array,
    max: columns['max'] as Float64Array,
  }
}
