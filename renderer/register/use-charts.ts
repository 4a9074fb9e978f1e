import { useEffect, useRef, useState } from 'react'
import type { ChartKind, ChartView } from '../../app/contract/checks.ts'
import { wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'

interface Found {
  charts: readonly ChartView[]
  /** Charts there are in all. */
  total: number | undefined
  /** Sessions that are still to be looked through. */
  pending: number
  problem: string | undefined
  done: boolean
}

const NOTHING: Found = { charts: [], total: undefined, pending: 0, problem: undefined, done: false }
/** A chart whose sessions are still being looked through is asked for again after so long, ms. */
const AGAIN_MS = 3_000

/**
 * Charts of one kind, one asked for after the other, those with the newest entry first, until there are as many as
 * wanted; asked anew when `version` is another.
 */
export function useCharts(kind: ChartKind, wanted: number, version: string): Found {
  const [found, setFound] = useState<Found>(NOTHING)
  const kept = useRef<{ version: string; found: Found }>({ version: '', found: NOTHING })
  useEffect(() => {
    const stop = new AbortController()
    const { signal } = stop
    let now = kept.current.version === version ? { ...kept.current.found, done: false } : NOTHING
    const tell = (next: Partial<Found>) => {
      now = { ...now, ...next }
      kept.current = { version, found: now }
      // What was on show stays until there is as much of the new.
      setFound((old) => (now.done || now.charts.length >= old.charts.length ? now : { ...old, done: false }))
    }
    const chartOf = async (id: string): Promise<ChartView> => {
      for (;;) {
        const chart = await station.checks.history({ kind, id }, { signal })
        if (chart.pending === 0) return chart
        await new Promise((resolve) => setTimeout(resolve, AGAIN_MS))
        signal.throwIfAborted()
      }
    }
    const look = async () => {
      while (now.charts.length < wanted) {
        const most = wanted - now.charts.length
        const page = await station.checks.charted({ kind, from: now.charts.length, most }, { signal })
        tell({ total: page.total, pending: page.pending })
        for (const { id } of page.rows) {
          const chart = await chartOf(id)
          signal.throwIfAborted()
          tell({ charts: [...now.charts, chart] })
        }
        if (page.rows.length < most) return
      }
    }
    look().then(
      () => tell({ done: true, problem: undefined }),
      (fault) => signal.aborted || tell({ done: true, problem: wordsOf(fault) }),
    )
    return () => stop.abort()
  }, [kind, wanted, version])
  return found
}
