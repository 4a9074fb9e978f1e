import { type ReactNode, useState } from 'react'
import { utcTime } from '../../app/base/times.ts'
import type { LedgerLine } from '../../app/contract/pages.ts'
import type { LedgerEntry } from '../../app/contract/studies.ts'
import { Button } from '../parts/Button.tsx'
import { Field } from '../parts/Field.tsx'
import { Table, type TablePages } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { localDateTime } from '../text/times.ts'

interface Props {
  entries: readonly LedgerLine[]
  pages: TablePages
  search: string
  onSearch: (search: string) => void
  /** What an entry changed, once it is unfolded. */
  change: (n: number) => ReactNode
  onTakeBack: (entry: LedgerLine) => void
}

/** Every change and decision, the newest first, each bound to the one before by its hash. */
export function Ledger({ entries, pages, search, onSearch, change, onTakeBack }: Props) {
  const [open, setOpen] = useState<number | null>(null)
  if (pages.total === 0 && search === '')
    return (
      <p className="faint hint">
        Nothing is in the ledger yet. Every change of a record and every decision will be.
      </p>
    )
  const columns: Column<LedgerLine>[] = [
    { id: 'n', name: 'No.', heads: true, value: ({ n }) => n },
    {
      id: 'when',
      name: 'When',
      left: true,
      sorts: false,
      about: 'Local time; a copy has UTC',
      value: ({ utcUs }) => utcTime(utcUs),
      show: ({ utcUs }) => <time title={utcTime(utcUs)}>{localDateTime(utcUs)}</time>,
    },
    { id: 'what', name: 'What', left: true, sorts: false, value: ({ what }) => what },
    { id: 'subject', name: 'Of', left: true, sorts: false, value: ({ subject }) => subject },
    { id: 'who', name: 'Who', left: true, sorts: false, value: ({ who }) => who },
    { id: 'why', name: 'Why', left: true, sorts: false, value: ({ why }) => why, look: () => 'ledger-why' },
    {
      id: 'acts',
      name: 'Unfold, take back',
      acts: true,
      value: () => null,
      show: (entry) => (
        <span className="row row-tight">
          <Button
            look="quiet"
            label={`${open === entry.n ? 'Fold' : 'Unfold'} entry ${entry.n}`}
            onPress={() => setOpen(open === entry.n ? null : entry.n)}
          >
            {open === entry.n ? 'Fold' : 'Unfold'}
          </Button>
          {entry.canTakeBack && (
            <Button look="quiet" label={`Take back entry ${entry.n}`} onPress={() => onTakeBack(entry)}>
              Take back
            </Button>
          )}
        </span>
      ),
    },
  ]
  return (
    <div className="stack">
      <Field
        label="Find in the ledger"
        type="search"
        value={search}
        onChange={onSearch}
        about="By person, record, act or reason."
      />
      <Table
        label="Ledger"
        pages={pages}
        rows={entries}
        columns={columns}
        rowKey={({ n }) => String(n)}
        sortedBy={{ column: 'n', down: true }}
        below={(entry) => (entry.n === open ? change(entry.n) : undefined)}
      />
    </div>
  )
}

/** What an entry changed: the record before and after. */
export function OldAndNew({ entry }: { entry: LedgerEntry }) {
  const [old, fresh] = [pretty(entry.old), pretty(entry.new)]
  return (
    <div className="stack ledger-fold">
      {(entry.old !== null || entry.new !== null) && (
        <div className="halves">
          <Side name="Old" text={old} other={fresh} />
          <Side name="New" text={fresh} other={old} />
        </div>
      )}
      <small className="hash">{entry.hash}</small>
    </div>
  )
}

/** One side of a change; what the other side has not stands out, by weight and by a sign before it. */
function Side({ name, text, other }: { name: string; text: string; other: string }) {
  const there = new Set(other.split('\n').map(bare))
  return (
    <section aria-label={name}>
      <h3>{name}</h3>
      <pre>
        {text.split('\n').map((line, i) => {
          const differs = !there.has(bare(line))
          return (
            <span
              // biome-ignore lint/suspicious/noArrayIndexKey: a line has no name but its place
              key={i}
              className={differs ? 'line-differs' : ''}
            >{`${differs ? '› ' : '  '}${line}\n`}</span>
          )
        })}
      </pre>
    </section>
  )
}

/** A comma behind a line says only that another follows. */
const bare = (line: string) => line.trim().replace(/,$/, '')

function pretty(text: string | null): string {
  if (text === null) return 'nothing'
  try {
    return JSON.stringify(JSON.parse(text), null, 1)
  } catch {
    return text
  }
}
