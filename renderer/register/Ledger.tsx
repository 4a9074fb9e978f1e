import { useState } from 'react'
import { utcTime } from '../../app/base/times.ts'
import type { LedgerEntry } from '../../app/contract/studies.ts'
import { Button } from '../parts/Button.tsx'
import { Table } from '../parts/Table.tsx'
import type { Column } from '../parts/table.column.ts'
import { localDateTime } from '../text/times.ts'
import { canTakeBack } from './ledger.model.ts'

interface Props {
  entries: readonly LedgerEntry[]
  onTakeBack: (entry: LedgerEntry) => void
}

/** Every change and decision, the newest first, each bound to the one before by its hash. */
export function Ledger({ entries, onTakeBack }: Props) {
  const [open, setOpen] = useState<number | null>(null)
  if (entries.length === 0)
    return (
      <p className="faint hint">
        Nothing is in the ledger yet. Every change of a record and every decision will be.
      </p>
    )
  const columns: Column<LedgerEntry>[] = [
    { id: 'n', name: 'No.', heads: true, value: ({ n }) => n },
    {
      id: 'when',
      name: 'When',
      left: true,
      about: 'Local time; a copy has UTC',
      value: ({ utcUs }) => utcTime(utcUs),
      show: ({ utcUs }) => <time title={utcTime(utcUs)}>{localDateTime(utcUs)}</time>,
    },
    { id: 'what', name: 'What', left: true, value: ({ what }) => what },
    { id: 'subject', name: 'Of', left: true, value: ({ subject }) => subject },
    { id: 'who', name: 'Who', left: true, value: ({ who }) => who },
    { id: 'why', name: 'Why', left: true, value: ({ why }) => why, look: () => 'ledger-why' },
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
          {canTakeBack(entry, entries) && (
            <Button look="quiet" label={`Take back entry ${entry.n}`} onPress={() => onTakeBack(entry)}>
              Take back
            </Button>
          )}
        </span>
      ),
    },
  ]
  return (
    <Table
      label="Ledger"
      rows={entries}
      columns={columns}
      rowKey={({ n }) => String(n)}
      sortedBy={{ column: 'n', down: true }}
      below={(entry) => (entry.n === open ? <OldAndNew entry={entry} /> : undefined)}
    />
  )
}

function OldAndNew({ entry }: { entry: LedgerEntry }) {
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
