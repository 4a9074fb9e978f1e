import { Table, type TablePages } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { type DueRow, dueLook } from './due.model.ts'

const COLUMNS: Column<DueRow>[] = [
  { id: 'name', name: 'Name', heads: true, sorts: false, value: ({ name }) => name },
  { id: 'due', name: 'Due', left: true, value: ({ due }) => due, look: dueLook },
  {
    id: 'days',
    name: 'Days left',
    value: ({ days }) => days,
    show: ({ days }) => (days < 0 ? `${-days} past` : days),
    look: dueLook,
  },
  { id: 'words', name: 'What that means', left: true, sorts: false, value: ({ words }) => words },
]

/** What is due to be calibrated, the most pressing first. */
export function DueTable({ due, pages }: { due: readonly DueRow[]; pages: TablePages }) {
  if (pages.total === 0) return <p className="faint hint">No record has a due date yet.</p>
  return (
    <Table
      label="Due dates"
      rows={due}
      pages={pages}
      columns={COLUMNS}
      rowKey={({ entry, due: date }) => `${entry}${date}`}
      sortedBy={{ column: 'days', down: false }}
    />
  )
}
