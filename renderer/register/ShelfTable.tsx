import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { type DueRow, dueLook } from './due.model.ts'
import type { Entry } from './register.model.ts'

interface Props {
  label: string
  entries: readonly Entry[]
  due: readonly DueRow[]
  chosen: string | null
  onChoose: (id: string) => void
}

/** The records of one shelf; any column orders them. */
export function ShelfTable({ label, entries, due, chosen, onChoose }: Props) {
  const dueOf = ({ id }: Entry) => due.find((d) => d.entry === id)
  const columns: Column<Entry>[] = [
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
      name: entries.some((entry) => 'serial' in entry) ? 'Number' : 'Range',
      left: true,
      value: (entry) => ('serial' in entry ? entry.serial : `${entry.lowC} to ${entry.highC} °C`),
    },
    ...(entries.some((entry) => dueOf(entry))
      ? [
          {
            id: 'due',
            name: 'Due',
            left: true,
            value: (entry: Entry) => dueOf(entry)?.due ?? null,
            look: (entry: Entry) => dueLook(dueOf(entry)),
          },
        ]
      : []),
  ]
  return (
    <Table
      label={label}
      rows={entries}
      columns={columns}
      rowKey={({ id }) => id}
      rowLook={({ id }) => (id === chosen ? 'is-chosen' : '')}
      sortedBy={{ column: 'name', down: false }}
      className="shelf-table"
    />
  )
}
