import type { Data } from 'plotly.js-dist-min'
import { useMemo } from 'react'
import { unpackColumns } from '../../app/contract/columns.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { usePage } from '../page/page.ts'
import { Problem } from '../parts/Problem.tsx'
import { seriesLook } from '../plots/palette.ts'
import { StudyPlot } from '../plots/StudyPlot.tsx'

const BUCKETS = 600

/** The whole night of one channel with every bucket's extremes. */
export function OverviewPlot({ session, channel, name }: { session: string; channel: string; name: string }) {
  const theme = usePage((state) => state.theme)
  const { data, problem } = useAnswer(async () => {
    const blob = await station.history.overview({
      session,
      channel,
      quantity: 'temperature',
      buckets: BUCKETS,
    })
    return unpackColumns(await blob.arrayBuffer()).columns
  }, [session, channel])
  const traces = useMemo((): Data[] => {
    if (!data) return []
    const t = data.t as Float64Array
    const low = data.min as Float64Array
    const high = data.max as Float64Array
    const x: string[] = []
    const y: number[] = []
    for (let i = 0; i < t.length; i++) {
      const at = new Date(t[i]! * 1000)
      // Plotly reads ISO times without a zone as they stand: local time is what people compare with.
      const local = new Date(at.getTime() - at.getTimezoneOffset() * 60_000).toISOString().slice(0, 23)
      x.push(local, local)
      y.push(low[i]!, high[i]!)
    }
    return [
      {
        type: 'scatter',
        mode: 'lines',
        name,
        x,
        y,
        line: { color: seriesLook(0, theme === 'dark').colour, width: 1.4 },
      },
    ]
  }, [data, name, theme])
  return (
    <figure>
      <figcaption>{`${name}, the whole session`}</figcaption>
      <Problem words={problem} />
      {traces.length > 0 && (
        <StudyPlot
          data={traces}
          xTitle="Local time"
          yTitle="t90 / °C"
          xType="date"
          theme={theme}
          label={`Temperature of ${name} over the session`}
          height={260}
        />
      )}
    </figure>
  )
}
