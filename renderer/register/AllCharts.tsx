import type { ReactNode } from 'react'
import type { ChartView } from '../../app/contract/checks.ts'

interface Props {
  groups: readonly { name: string; charts: readonly ChartView[] }[]
  working: boolean
  chart: (chart: ChartView) => ReactNode
}

/** Control charts by kind; a kind without one says how its first entry comes. */
export function AllChartsPanel({ groups, working, chart }: Props) {
  if (working) return <p className="curtain">Looking through the sessions</p>
  return (
    <div className="stack charts">
      {groups.map(({ name, charts }) => (
        <section key={name} className="stack" aria-label={name}>
          <h2>{name}</h2>
          {charts.length === 0 && <p className="faint">{EMPTY[name]}</p>}
          <div className="chart-grid">
            {charts.map((one) => (
              <div key={one.name}>{chart(one)}</div>
            ))}
          </div>
        </section>
      ))}
    </div>
  )
}

const EMPTY: Record<string, string> = {
  'R(0.01 °C) of thermometers':
    'None yet. R(WTP) comes from a plan with its water triple point check on, from fixed points, or from a certificate.',
  'Check thermometers against the reference':
    'None yet. Give a channel the role of a check thermometer; every session with it and a reference adds a dot.',
  'Reference resistors': 'None yet. Certificates and yearly comparisons of a resistor make its chart.',
  Bridges: 'None yet. Every check of a bridge that is recorded adds a dot: see Checks.',
}
