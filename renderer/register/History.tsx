import type { Cell, CellComparison, CellPlateau } from '../../app/records/cell.ts'
import type { BridgeCheckRecord, ComparedResistor, WtpEntry } from '../../app/records/register.ts'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { fixed } from '../text/numbers.ts'
import { parts, withU } from './checks/written.ts'
import type { Entry } from './register.model.ts'

const KINDS: Record<BridgeCheckRecord['kind'], string> = {
  interchange: 'interchanged',
  network: 'in combinations',
  comparison: 'known ratios',
  together: 'all three together',
}

const CHECKS: Column<BridgeCheckRecord>[] = [
  { id: 'date', name: 'Date', heads: true, value: ({ date }) => date },
  { id: 'kind', name: 'How', left: true, value: ({ kind }) => KINDS[kind] },
  {
    id: 'linearity',
    name: 'Linearity it supports, in ratio',
    value: ({ linearityRatio }) => linearityRatio,
    show: ({ linearityRatio }) => parts(linearityRatio),
  },
  { id: 'agrees', name: 'Verdict', left: true, value: ({ agrees }) => (agrees ? 'within U' : 'beyond U') },
  { id: 'session', name: 'Session', left: true, value: ({ session }) => session ?? null },
]

const COMPARISONS: Column<ComparedResistor>[] = [
  { id: 'date', name: 'Date', heads: true, value: ({ date }) => date },
  { id: 'against', name: 'Against', left: true, value: ({ against }) => against },
  {
    id: 'ohm',
    name: 'Value',
    unit: 'ohm',
    value: ({ ohm }) => Number(ohm),
    show: ({ ohm, uRelative }) => withU(Number(ohm), Number(ohm) * uRelative, 'Ω'),
  },
  {
    id: 'difference',
    name: 'From what was expected',
    value: ({ expected }) => expected?.difference ?? null,
    show: ({ expected }) => expected && `${parts(expected.difference)}, U ${parts(expected.expanded)}`,
  },
  {
    id: 'became',
    name: 'Became',
    left: true,
    value: ({ calibration }) => (calibration === undefined ? 'no calibration' : 'a calibration'),
  },
  { id: 'session', name: 'Session', left: true, value: ({ session }) => session ?? null },
]

const WTP: Column<WtpEntry>[] = [
  { id: 'date', name: 'Date', heads: true, value: ({ date }) => date },
  {
    id: 'ohm',
    name: 'R(0.01 °C)',
    unit: 'ohm',
    value: ({ ohm }) => Number(ohm),
    show: ({ ohm, uOhm }) => withU(Number(ohm), uOhm, 'Ω'),
  },
  { id: 'note', name: 'Note', left: true, value: ({ note }) => note ?? null, look: () => 'ledger-why' },
  { id: 'session', name: 'Session', left: true, value: ({ session }) => session ?? null },
]

const NEWEST = { column: 'date', down: true }

const PLATEAUS: Column<CellPlateau>[] = [
  { id: 'date', name: 'Date', heads: true, value: ({ date }) => date },
  { id: 'thermometer', name: 'Thermometer', left: true, value: ({ thermometer }) => thermometer ?? null },
  { id: 'ohm', name: 'R', unit: 'ohm', value: ({ ohm }) => ohm, show: ({ ohm }) => fixed(ohm, 7) },
  {
    id: 'w',
    name: 'W',
    value: ({ w }) => w ?? null,
    show: ({ w }) => (w === undefined ? null : fixed(w, 8)),
  },
  {
    id: 'u',
    name: 'U (k = 2)',
    unit: 'mK',
    value: ({ uMk }) => 2 * uMk,
    show: ({ uMk }) => fixed(2 * uMk, 3),
  },
  { id: 'session', name: 'Session', left: true, value: ({ session }) => session ?? null },
]

const BESIDE: Column<CellComparison>[] = [
  { id: 'date', name: 'Date', heads: true, value: ({ date }) => date },
  { id: 'against', name: 'Against', left: true, value: ({ against }) => against },
  {
    id: 'difference',
    name: 'This cell less the other',
    unit: 'mK',
    value: ({ differenceMk }) => differenceMk,
    show: ({ differenceMk, uMk }) => withU(differenceMk, uMk, 'mK'),
  },
  { id: 'agrees', name: 'Verdict', left: true, value: ({ agrees }) => (agrees ? 'within U' : 'beyond U') },
]

function CellHistory({ cell }: { cell: Cell }) {
  return (
    <>
      {cell.plateaus && (
        <section className="stack">
          <h3>Plateaus</h3>
          <Table
            label="Plateaus"
            rows={cell.plateaus}
            columns={PLATEAUS}
            rowKey={({ date, session, ohm }) => `${date}${session ?? ''}${ohm}`}
            sortedBy={NEWEST}
          />
        </section>
      )}
      {cell.comparisons && (
        <section className="stack">
          <h3>Comparisons of cells</h3>
          <Table
            label="Comparisons of cells"
            rows={cell.comparisons}
            columns={BESIDE}
            rowKey={({ id }) => id}
            sortedBy={NEWEST}
          />
        </section>
      )}
    </>
  )
}

/** What was found of a record over the years, beside its calibrations: R(WTP), comparisons, checks. */
export function History({ entry }: { entry: Entry }) {
  return (
    <>
      {'wtpHistory' in entry && entry.wtpHistory.length > 0 && (
        <section className="stack">
          <h3>R(0.01 °C) over time</h3>
          <Table
            label="R(0.01 °C) over time"
            rows={entry.wtpHistory}
            columns={WTP}
            rowKey={({ date, ohm }) => `${date}${ohm}`}
            sortedBy={NEWEST}
          />
        </section>
      )}
      {'fixedPoint' in entry && <CellHistory cell={entry} />}
      {'comparisons' in entry && !('fixedPoint' in entry) && entry.comparisons && (
        <section className="stack">
          <h3>Comparisons with a better one</h3>
          <Table
            label="Comparisons with a better one"
            rows={entry.comparisons}
            columns={COMPARISONS}
            rowKey={({ id }) => id}
            sortedBy={NEWEST}
          />
        </section>
      )}
      {'checks' in entry && entry.checks && (
        <section className="stack">
          <h3>Checks</h3>
          <Table
            label="Checks"
            rows={entry.checks}
            columns={CHECKS}
            rowKey={({ id }) => id}
            sortedBy={NEWEST}
          />
        </section>
      )}
    </>
  )
}
