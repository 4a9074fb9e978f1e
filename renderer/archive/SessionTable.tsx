import { useMemo } from 'react'
import { duration, utcSecond } from '../../app/base/times.ts'
import type { ArchiveRow } from '../../app/contract/studies.ts'
import { useInGrid } from '../parts/in-grid.ts'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import type { Sorting } from '../parts/table.model.ts'
import { bytes, fixed } from '../text/numbers.ts'
import { clockTime, localDate } from '../text/times.ts'
import { endingWords, sessionName, thermometerNames } from './archive.model.ts'
import { Sketch } from './Sketch.tsx'

interface Props {
  rows: readonly ArchiveRow[]
  chosen: string | null
  /** Thermometers' names by their ids in the register. */
  names: ReadonlyMap<string, string>
  onChoose: (id: string) => void
  /** A table recorded elsewhere was pasted among the sessions. */
  onPaste: (cells: string[][]) => void
  /** Sessions there are in all, and how to ask for more of them. */
  total: number
  more: () => void
  onSort: (sorting: Sorting | null) => void
}

const lengthS = ({ info }: ArchiveRow): number | null =>
  info.endedUtcUs === null ? null : (info.endedUtcUs - info.startedUtcUs) / 1e6

const BENCH: Column<ArchiveRow> = {
  id: 'bench',
  name: 'Bench',
  left: true,
  sorts: false,
  value: ({ bench }) => bench ?? 'this bench',
  look: () => 'cell-words',
}

/** Past sessions as rows of cells, to be put in order and copied. */
export function SessionTable({ rows, chosen, names, onChoose, onPaste, total, more, onSort }: Props) {
  const columns = useMemo(
    (): Column<ArchiveRow>[] => [
      {
        id: 'name',
        name: 'Session',
        heads: true,
        value: ({ info }) => sessionName(info.name),
        show: ({ info }) => <Open name={sessionName(info.name)} onPress={() => onChoose(info.id)} />,
      },
      {
        id: 'sketch',
        name: 'Course',
        acts: true,
        value: () => null,
        show: ({ sketch }) => <Sketch sketch={sketch} />,
      },
      {
        id: 'began',
        name: 'Began',
        about: 'Local time; a copy has the time in UTC',
        value: ({ info }) => utcSecond(info.startedUtcUs),
        show: ({ info }) => `${localDate(info.startedUtcUs)} ${clockTime(info.startedUtcUs)}`,
      },
      {
        id: 'length',
        name: 'Length',
        unit: 'h',
        value: (row) => (lengthS(row) === null ? null : lengthS(row)! / 3600),
        show: (row) => (lengthS(row) === null ? 'running' : duration(lengthS(row)!)),
      },
      { id: 'points', name: 'Points', value: ({ points }) => points },
      {
        id: 'readings',
        name: 'Readings',
        value: ({ readings }) => readings,
        show: ({ readings }) => fixed(readings, 0),
      },
      {
        id: 'thermometers',
        name: 'Thermometers',
        left: true,
        sorts: false,
        value: ({ thermometers }) => thermometers.map((id) => names.get(id) ?? id).join(', '),
        show: ({ thermometers }) => thermometerNames(thermometers, names),
        look: () => 'cell-words',
      },
      // In a laboratory of one bench it would say nothing.
      ...(rows.some(({ bench }) => bench !== undefined) ? [BENCH] : []),
      { id: 'operator', name: 'Operator', left: true, value: ({ info }) => info.operator },
      { id: 'ending', name: 'Ended', left: true, sorts: false, value: endingWords, look: () => 'cell-words' },
      { id: 'signed', name: 'Signed off by', left: true, value: ({ signedOffBy }) => signedOffBy },
      {
        id: 'size',
        name: 'Size',
        unit: 'MB',
        value: (row) => row.bytes / 1e6,
        show: (row) => bytes(row.bytes),
      },
    ],
    [names, onChoose, rows],
  )
  return (
    <Table
      label="Table of sessions"
      className="session-table"
      rows={rows}
      columns={columns}
      rowKey={({ info }) => info.id}
      rowLook={({ info }) => (info.id === chosen ? 'is-chosen' : '')}
      onPaste={onPaste}
      pages={{ total, more, onSort }}
    />
  )
}

function Open({ name, onPress }: { name: string; onPress: () => void }) {
  const inGrid = useInGrid()
  return (
    <button type="button" className="unfold" tabIndex={inGrid ? -1 : 0} onClick={onPress}>
      {name}
    </button>
  )
}
