import type { Data } from 'plotly.js-dist-min'
import { useMemo } from 'react'
import type { ChartView } from '../../app/contract/checks.ts'
import { seriesLook } from '../plots/palette.ts'
import { StudyPlot } from '../plots/StudyPlot.tsx'
import { unitSign } from '../text/numbers.ts'

const LEAST_ENTRIES = 2

/** A control chart: values with k = 2, their centre, where to look and where to act, and the verdict in words. */
export function ControlChart({ chart, theme }: { chart: ChartView; theme: string }) {
  const { entries, centre, limits } = chart
  const data = useMemo((): Data[] => {
    const look = seriesLook(0, theme === 'dark')
    const quiet = seriesLook(5, theme === 'dark').colour
    const x = entries.map((e) => e.date)
    const across = (name: string, y: number, dash: 'solid' | 'dot' | 'dash', show: boolean): Data => ({
      type: 'scatter',
      mode: 'lines',
      name,
      x: [x[0]!, x.at(-1)!],
      y: [y, y],
      line: { color: quiet, width: 1, dash },
      hoverinfo: 'skip',
      showlegend: show,
    })
    return [
      {
        type: 'scatter',
        mode: 'lines+markers',
        name: chart.name,
        x,
        y: entries.map((e) => e.value),
        error_y: { type: 'data', array: entries.map((e) => 2 * e.u), color: look.colour, thickness: 1.2 },
        line: { color: look.colour, width: 1, dash: 'dot' },
        marker: { color: look.colour, size: 8 },
      },
      across('Centre', centre, 'solid', true),
      ...(limits
        ? [
            across('Look', centre + limits.warning, 'dot', true),
            across('Look', centre - limits.warning, 'dot', false),
            across('Act', centre + limits.action, 'dash', true),
            across('Act', centre - limits.action, 'dash', false),
          ]
        : []),
    ]
  }, [chart.name, entries, centre, limits, theme])
  if (entries.length < LEAST_ENTRIES) return null
  return (
    <figure>
      <figcaption>{`${chart.name}; bars show k = 2`}</figcaption>
      <StudyPlot
        data={data}
        xTitle="Date"
        yTitle={unitSign(chart.unit) || 'ratio'}
        xType="date"
        theme={theme}
        label={`Control chart of ${chart.name}`}
        height={260}
      />
      <p>{chart.verdict}</p>
      {chart.findings.length > 0 && (
        <ul className="checks" aria-label="Findings">
          {chart.findings.map((finding) => (
            <li
              key={`${finding.date}${finding.rule}${finding.words}`}
              className={`check check-${finding.rule === 'action' ? 'stop' : 'warning'}`}
            >
              <strong>{`${finding.date}: ${finding.words}`}</strong>
            </li>
          ))}
        </ul>
      )}
    </figure>
  )
}
