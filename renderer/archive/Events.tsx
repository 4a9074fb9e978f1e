import { utcSecond } from '../../app/base/times.ts'
import type { SessionEvent } from '../../app/records/session.ts'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { clockTime } from '../text/times.ts'

const COLUMNS: readonly Column<SessionEvent>[] = [
  {
    id: 'time',
    name: 'Time',
    left: true,
    about: 'Local time; a copy has the time in UTC',
    value: ({ utcUs }) => utcSecond(utcUs),
    show: ({ utcUs }) => <time title={utcSecond(utcUs)}>{clockTime(utcUs, true)}</time>,
  },
  { id: 'what', name: 'What', left: true, value: ({ words }) => words, look: () => 'cell-words' },
  { id: 'who', name: 'Who', left: true, value: ({ who }) => who },
]

/** What happened in a session, in its order. */
export function Events({ events }: { events: readonly SessionEvent[] }) {
  return (
    <Table
      label="What happened"
      className="events-table"
      rows={events}
      columns={COLUMNS}
      rowKey={({ n }) => String(n)}
    />
  )
}
