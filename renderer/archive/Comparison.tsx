import { useMemo, useState } from 'react'
import type { Comparison as ComparisonData } from '../../app/contract/studies.ts'
import { Button } from '../parts/Button.tsx'
import { Raised } from '../parts/Raised.tsx'
import { Table } from '../parts/Table.tsx'
import { Tick } from '../parts/Tick.tsx'
import type { Column } from '../parts/table.column.ts'
import { decimalSignNow, fixed, significant, unitSign } from '../text/numbers.ts'
import { type ComparedRow, inStyle, numberOr } from './comparison.model.ts'

interface Props {
  words: string
  /** How far each thermometer's result moved, the largest change in units of U first. */
  moved: ComparisonData['moved']
  rows: readonly ComparedRow[]
  /** What stands on the two sides. */
  here: string
  there: string
  /** Records that differ, in words. */
  changes: readonly string[]
  /** Undefined where there is nothing to take into the session. */
  onCorrect: (() => void) | undefined
  onClose: () => void
}

const WHY: Column<ComparedRow> = {
  id: 'why',
  name: 'Why',
  left: true,
  value: ({ why }) => why,
  look: () => 'cell-words',
}

/** The least part that is told apart from nothing. */
const LEAST_PART = 0.005

const partWords = (part: number): string =>
  part < LEAST_PART ? `under ${fixed(LEAST_PART * 100, 1)}` : fixed(part * 100, part < 0.1 ? 1 : 0)

/** Two sets of results line by line: what changed, by how much, against its uncertainty, and why. */
export function Comparison({ words, moved, rows, here, there, changes, onCorrect, onClose }: Props) {
  const changed = rows.filter((row) => row.changed)
  const [only, setOnly] = useState(changed.length > 0)
  const sign = decimalSignNow()
  const explained = rows.some(({ why }) => why !== '')
  const columns = useMemo(
    (): Column<ComparedRow>[] => [
      { id: 'what', name: 'Number', heads: true, value: ({ what }) => what, look: () => 'cell-words' },
      {
        id: 'old',
        name: here,
        value: (row) => numberOr(row.old),
        show: (row) => <Raised text={inStyle(row.old, sign) || '–'} />,
      },
      {
        id: 'new',
        name: there,
        value: (row) => numberOr(row.new),
        show: (row) => <Raised text={inStyle(row.new, sign) || '–'} />,
      },
      {
        id: 'difference',
        name: 'Difference',
        value: ({ difference, differenceWords }) => difference ?? differenceWords,
        show: ({ changed: moved, difference, differenceWords }) =>
          !moved ? (
            'same'
          ) : difference === null ? (
            differenceWords
          ) : (
            <Raised text={significant(difference, 3)} />
          ),
      },
      {
        id: 'unit',
        name: 'Unit',
        left: true,
        value: ({ unit }) => unitSign(unit),
        show: ({ unit }) => <Raised text={unitSign(unit)} />,
      },
      {
        id: 'part',
        name: 'Part of U',
        unit: '%',
        about: 'Size of the difference beside the expanded uncertainty of the number',
        value: ({ part }) => (part === null ? null : part * 100),
        show: ({ part }) => (part === null ? '' : partWords(part)),
      },
      ...(explained ? [WHY] : []),
    ],
    [here, there, sign, explained],
  )
  return (
    <section className="sheet" aria-label="Comparison">
      <div className="row row-apart nowrap">
        <h3>{words}</h3>
        <span className="row row-tight">
          {onCorrect && (
            <Button right="keep-records" onPress={onCorrect}>
              Correct this session
            </Button>
          )}
          <Button look="quiet" onPress={onClose}>
            Close the comparison
          </Button>
        </span>
      </div>
      {changes.length > 0 && (
        <ul className="checks" aria-label="Records that differ">
          {changes.map((change) => (
            <li key={change} className="check">
              {change}
            </li>
          ))}
        </ul>
      )}
      {moved.length > 0 && <Moved moved={moved} />}
      <details open={moved.length === 0}>
        <summary>{`Every number: ${fixed(changed.length, 0)} of ${fixed(rows.length, 0)} changed`}</summary>
        {changed.length > 0 && changed.length < rows.length && (
          <Tick on={only} onChange={setOnly}>
            {`Only what changed: ${fixed(changed.length, 0)} of ${fixed(rows.length, 0)} numbers, the largest change first`}
          </Tick>
        )}
        <Table
          label="Numbers compared"
          className="compared"
          rows={only ? changed : rows}
          columns={columns}
          rowKey={({ key }) => key}
          rowLook={(row) => (row.changed ? 'is-changed' : '')}
        />
      </details>
    </section>
  )
}

type MovedRow = ComparisonData['moved'][number]['points'][number] & {
  key: string
  name: string
  serial: string
}

const MOVED: Column<MovedRow>[] = [
  { id: 'name', name: 'Thermometer', heads: true, value: ({ name }) => name, look: () => 'cell-words' },
  { id: 'serial', name: 'Serial number', left: true, value: ({ serial }) => serial },
  {
    id: 'celsius',
    name: 'At',
    unit: 'degC',
    value: ({ celsius }) => celsius,
    show: (row) => fixed(row.celsius, 2),
  },
  {
    id: 'difference',
    name: 'Moved',
    unit: 'mK',
    value: ({ differenceMk }) => differenceMk,
    show: (row) => fixed(row.differenceMk, 2),
  },
  {
    id: 'expanded',
    name: 'U of both',
    unit: 'mK',
    value: ({ expandedMk }) => expandedMk,
    show: (row) => fixed(row.expandedMk, 2),
  },
  {
    id: 'verdict',
    name: 'Verdict',
    left: true,
    value: ({ agrees }) => (agrees ? 'within U' : 'beyond U'),
  },
]

/** What matters first: how far each thermometer's result moved over its range. */
function Moved({ moved }: { moved: ComparisonData['moved'] }) {
  const rows = moved.flatMap(({ name, serial, thermometer, points }) =>
    points.map((point) => ({ ...point, name, serial, key: `${thermometer} ${point.celsius}` })),
  )
  if (rows.length === 0) return <p className="faint">The two have no temperature in common.</p>
  return (
    <Table
      label="How far the results moved"
      rows={rows}
      columns={MOVED}
      rowKey={({ key }) => key}
      rowLook={({ agrees }) => (agrees ? '' : 'is-changed')}
    />
  )
}
