import { utcSecond } from '../../app/base/times.ts'
import type { SessionEvent } from '../../app/records/session.ts'
import { Button } from '../parts/Button.tsx'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { clockTime } from '../text/times.ts'

const columnsOf = (onMoment: (utcUs: number) => void): readonly Column<SessionEvent>[] => [
  {
    id: 'time',
    name: 'Time',
    left: true,
    about: 'Local time; a copy has the time in UTC',
    value: ({ utcUs }) => utcSecond(utcUs),
    show: ({ utcUs }) => <time title={utcSecond(utcUs)}>{clockTime(utcUs, true)}</time>,
  },
  {
    id: 'what',
    name: 'What',
    about: 'Pressed, it shows that moment in the replay',
    left: true,
    value: ({ words }) => words,
    show: ({ words, utcUs }) => (
      <Button look="quiet" onPress={() => onMoment(utcUs)}>
        {words}
      </Button>
    ),
    look: () => 'cell-words',
  },
  { id: 'who', name: 'Who', left: true, value: ({ who }) => who },
]

interface Props {
  events: readonly SessionEvent[]
  /** Events there are in all, and how to ask for more of them. */
  total: number
  more: () => void
  /** Shows a moment of the session, UTC in microseconds. */
  onMoment: (utcUs: number) => void
}

/** What happened in a session, in its order; each row leads to its moment. */
export function Events({ events, total, more, onMoment }: Props) {
  return (
    <Table
      label="What happened"
      className="events-table"
      rows={events}
      columns={columnsOf(onMoment)}
      rowKey={({ n }) => String(n)}
      pages={{ total, more }}
    />
  )
}
