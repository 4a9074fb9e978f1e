import type { ReactNode } from 'react'
import type { ChartView } from '../../app/contract/checks.ts'
import { Button } from '../parts/Button.tsx'

interface Props {
  name: string
  charts: readonly ChartView[]
  /** How far the records were looked through; undefined when nothing is being looked for. */
  words: string | undefined
  /** Where there are more charts than are drawn. */
  more: (() => void) | undefined
  chart: (chart: ChartView) => ReactNode
}

/** Control charts of one kind; a kind without one says how its first entry comes. */
export function ChartGroup({ name, charts, words, more, chart }: Props) {
  return (
    <section className="stack" aria-label={name}>
      <h2>{name}</h2>
      {charts.length === 0 && words === undefined && <p className="faint">{EMPTY[name]}</p>}
      <div className="chart-grid">
        {charts.map((one) => (
          <div key={one.name}>{chart(one)}</div>
        ))}
      </div>
      {words && (
        <p className="faint" role="status">
          {words}
        </p>
      )}
      {more && <Button onPress={more}>More charts</Button>}
    </section>
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
