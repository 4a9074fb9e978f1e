import type { Data } from 'plotly.js-dist-min'
import { useMemo } from 'react'
import type { Thermometer } from '../../app/records/register.ts'
import { seriesLook } from '../plots/palette.ts'
import { StudyPlot } from '../plots/StudyPlot.tsx'

/** R at the water triple point over the years, as parts per million of the first value. */
export function WtpChart({ thermometer, theme }: { thermometer: Thermometer; theme: string }) {
  const { wtpHistory } = thermometer
  const data = useMemo((): Data[] => {
    const first = Number(wtpHistory[0]?.ohm)
    const look = seriesLook(0, theme === 'dark')
    return [
      {
        type: 'scatter',
        mode: 'lines+markers',
        name: 'R(WTP)',
        x: wtpHistory.map((e) => e.date),
        y: wtpHistory.map((e) => (Number(e.ohm) / first - 1) * 1e6),
        error_y: {
          type: 'data',
          array: wtpHistory.map((e) => ((2 * e.uOhm) / first) * 1e6),
          color: look.colour,
          thickness: 1.2,
        },
        line: { color: look.colour, width: 1.2, dash: 'dot' },
        marker: { color: look.colour, size: 8 },
      },
    ]
  }, [wtpHistory, theme])
  if (wtpHistory.length < 2) return null
  return (
    <figure>
      <figcaption>{`R(WTP) against ${wtpHistory[0]!.ohm} Ω of ${wtpHistory[0]!.date}; bars show k = 2`}</figcaption>
      <StudyPlot
        data={data}
        xTitle="Date"
        yTitle="Change / ppm"
        xType="date"
        theme={theme}
        label={`R at the water triple point of ${thermometer.name} over time`}
        height={260}
      />
    </figure>
  )
}
