import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { fixed } from '../text/numbers.ts'
import type { HysteresisRow } from './points.model.ts'

const COLUMNS: readonly Column<HysteresisRow>[] = [
  {
    id: 'setpoint',
    name: 'Setpoint',
    unit: 'degC',
    heads: true,
    value: ({ celsius }) => celsius,
    show: ({ celsius }) => fixed(celsius, 1),
  },
  { id: 'first', name: 'First visit', left: true, value: ({ first }) => first },
  { id: 'second', name: 'Later visit', left: true, value: ({ second }) => second },
  {
    id: 'difference',
    name: 'Later less first',
    unit: 'mK',
    value: ({ differenceMk }) => differenceMk,
    show: ({ differenceMk }) => fixed(differenceMk, 1),
    measured: ({ differenceMk }) => ({
      value: differenceMk,
      unit: 'mK',
      expanded: null,
      k: 2,
      digits: 3,
      about: 'difference of two visits',
    }),
  },
  {
    id: 'expanded',
    name: 'Expanded uncertainty of one visit',
    unit: 'mK',
    value: ({ expandedMk }) => expandedMk,
    show: ({ expandedMk }) => fixed(expandedMk, 1),
  },
]

/** Temperatures that were visited twice. */
export function Hysteresis({ rows }: { rows: readonly HysteresisRow[] }) {
  return (
    <section className="stack">
      <h3>Hysteresis: visited twice</h3>
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
