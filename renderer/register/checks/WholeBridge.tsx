import { TAKEN_OUT_WORDS } from '../../../app/checks/bridge-curve.ts'
import { Table } from '../../parts/Table.tsx'
import { Tick } from '../../parts/Tick.tsx'
import { DotPlot } from '../../plots/DotPlot.tsx'
import { fixed } from '../../text/numbers.ts'
import { bridgeSeries } from './bridge-curve.series.ts'
import type { WholeBridge as Whole } from './whole-bridge.model.ts'
import { parts } from './written.ts'

interface Props {
  whole: Whole
  /** How the check enters the budget, in words. */
  budget: string | undefined
  theme: string
  asCorrection: boolean
  onCorrection: (on: boolean) => void
}

/** The error of a bridge over its ratio, from all its checks at once. */
export function WholeBridge({ whole, budget, theme, asCorrection, onCorrection }: Props) {
  const { curve, of } = whole
  const rows = curve.checked.map((row) => ({ ...row, expanded: 2 * row.u }))
  return (
    <section className="sheet" aria-label="All checks of this bridge together">
      <h3>All checks of this bridge together</h3>
      <p>{`From ${of.join(', ')}, as they stand in their tables.`}</p>
      <DotPlot
        label="Error of the bridge against the ratio, from all checks"
        xTitle="Ratio n"
        yTitle="Shown less true / 10⁻⁹"
        theme={theme}
        withZero
        across={[{ name: 'No error', y: 0, look: 'centre' }]}
        series={bridgeSeries('At the ratios checked, bars k = 2', rows, curve.curve)}
      />
      <Table
        label="Errors from all checks, one row each"
        rows={rows}
        columns={[
          { id: 'name', name: 'Checked', heads: true, value: ({ name }) => name },
          { id: 'ratio', name: 'n', value: ({ ratio }) => ratio, show: ({ ratio }) => fixed(ratio, 9) },
          { id: 'error', name: 'Error', value: ({ error }) => error, show: ({ error }) => parts(error) },
          {
            id: 'expanded',
            name: 'U (k = 2)',
            value: ({ expanded }) => expanded,
            show: ({ expanded }) => parts(expanded),
          },
        ]}
        rowKey={({ name, ratio }) => `${name} ${ratio}`}
      />
      {curve.takenOut.map((part) => (
        <p key={part}>{TAKEN_OUT_WORDS[part]}</p>
      ))}
      {budget && <p>{budget}</p>}
      <Tick on={asCorrection} onChange={onCorrection}>
        Correct ratios by this curve from that day on
      </Tick>
    </section>
  )
}
