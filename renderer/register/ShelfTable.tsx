import { daysBetween } from '../../app/base/times.ts'
import type { RecordLine } from '../../app/contract/pages.ts'
import { Table, type TablePages } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { dueLook } from './due.model.ts'

interface Props {
  label: string
  lines: readonly RecordLine[]
  /** Fluids have a range in place of a number. */
  ranges: boolean
  /** UTC day from which due dates are counted. */
  today: string
  pages: TablePages
  chosen: string | null
  onChoose: (id: string) => void
}

/** The records of one shelf; any column orders them. */
export function ShelfTable({ label, lines, ranges, today, pages, chosen, onChoose }: Props) {
  const dueOf = ({ due }: RecordLine) => (due === null ? undefined : { days: daysBetween(today, due) })
  const columns: Column<RecordLine>[] = [
    {
      id: 'name',
      name: 'Name',
      heads: true,
      value: ({ name }) => name,
      show: ({ id, name }) => (
        <button
          type="button"
          tabIndex={-1}
          className="row-name"
          aria-current={id === chosen}
          onClick={() => onChoose(id)}
        >
          {name}
        </button>
      ),
    },
    {
      id: 'number',
      name: ranges ? 'Range' : 'Number',
      sorts: !ranges,
      left: true,
      value: ({ serial, facts }) => (ranges ? `${facts.lowC} to ${facts.highC} °C` : serial),
    },
    ...(lines.some(({ due }) => due !== null)
      ? [
          {
            id: 'due',
            name: 'Due',
            left: true,
            value: ({ due }: RecordLine) => due,
            look: (line: RecordLine) => dueLook(dueOf(line)),
          },
        ]
      : []),
  ]
  return (
    <Table
      label={label}
      rows={lines}
      pages={pages}
      columns={columns}
      rowKey={({ id }) => id}
      rowLook={({ id }) => (id === chosen ? 'is-chosen' : '')}
      sortedBy={{ column: 'name', down: false }}
      className="shelf-table"
    />
  )
}
