import { useMemo } from 'react'
import { utcMillisecond } from '../../app/base/times.ts'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import type { WireLine } from './wire.model.ts'

interface Props {
  lines: readonly WireLine[]
  names: Readonly<Record<string, string>>
  /** Keeps the newest line in sight. */
  stick: boolean
}

const WORDS: Record<WireLine['direction'], string> = { sent: 'to', received: 'from', note: 'note' }

function stamp(utcUs: number): string {
  const d = new Date(utcUs / 1000)
  return `${d.toTimeString().slice(0, 8)}.${String(d.getMilliseconds()).padStart(3, '0')}`
}

/** The traffic, newest last; only what is in sight is in the page. */
export function Traffic({ lines, names, stick }: Props) {
  const columns = useMemo(
    (): Column<WireLine>[] => [
      {
        id: 'time',
        name: 'Time',
        left: true,
        sorts: false,
        about: 'Local time; a copy has the time in UTC',
        value: ({ utcUs }) => utcMillisecond(utcUs),
        show: ({ utcUs }) => <time title={utcMillisecond(utcUs)}>{stamp(utcUs)}</time>,
      },
      {
        id: 'link',
        name: 'Link',
        left: true,
        sorts: false,
        value: ({ instrument }) => names[instrument] ?? instrument,
      },
      {
        id: 'direction',
        name: 'Which way',
        left: true,
        sorts: false,
        value: ({ direction }) => WORDS[direction],
      },
      {
        id: 'text',
        name: 'Line',
        left: true,
        sorts: false,
        value: ({ text }) => text,
        show: ({ text }) => <code>{text}</code>,
      },
    ],
    [names],
  )
  return (
    <Table
      label="Traffic"
      className="traffic"
      rows={lines}
      columns={columns}
      rowKey={({ n }) => String(n)}
      rowLook={({ direction }) => `wire-line wire-${direction}`}
      follows={stick}
    />
  )
}
