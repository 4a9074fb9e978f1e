import type { FitView } from '../../app/contract/studies.ts'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { fixed } from '../text/numbers.ts'

type HysteresisRow = FitView['hysteresis'][number]

const COLUMNS: readonly Column<HysteresisRow>[] = [
  {
    id: 'setpoint',
    name: 'Setpoint',
    unit: 'degC',
    heads: true,
    value: ({ celsius }) => celsius,
    show: ({ celsius }) => fixed(celsius, 1),
  },
  { id: 'first', name: 'On the way up', left: true, value: ({ first }) => first },
  { id: 'second', name: 'On the way down', left: true, value: ({ second }) => second },
  {
    id: 'difference',
    name: 'Down less up',
    unit: 'mK',
    value: ({ differenceMk }) => differenceMk,
    show: ({ differenceMk }) => fixed(differenceMk, 1),
    measured: ({ differenceMk, expandedMk }) => ({
      value: differenceMk,
      unit: 'mK',
      expanded: expandedMk,
      k: 2,
      about: 'repeatability alone',
    }),
  },
  {
    id: 'expanded',
    name: 'Expanded uncertainty of the difference (k = 2)',
    unit: 'mK',
    value: ({ expandedMk }) => expandedMk,
    show: ({ expandedMk }) => fixed(expandedMk, 1),
  },
]

/** Temperatures that were visited on the way up and on the way down. */
export function Hysteresis({ rows }: { rows: readonly HysteresisRow[] }) {
  return (
    <section className="stack">
      <h3>Hysteresis: visited on both ways</h3>
      <Table
        label="Hysteresis"
        className="table-narrow"
        rows={rows}
        columns={COLUMNS}
        rowKey={({ celsius, second }) => `${celsius}${second}`}
      />
    </section>
  )
}
