import { useDeferredValue, useState } from 'react'
import type { RecordKindName, RecordLine } from '../../app/contract/pages.ts'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { type Pages, usePages } from '../client/pages.ts'
import { useRecords } from '../client/records.ts'
import { useStation } from '../client/state.ts'
import { Problem } from '../parts/Problem.tsx'
import type { TablePages } from '../parts/Table.tsx'
import type { Sorting } from '../parts/table.model.ts'
import { DueTable } from './DueTable.tsx'
import { Ledger, OldAndNew } from './Ledger.tsx'
import type { Entry, Shelf } from './register.model.ts'
import { askToTakeBack } from './TakeBack.connect.tsx'

export const KIND_OF: Record<Shelf, RecordKindName> = {
  thermometers: 'thermometer',
  resistors: 'resistor',
  instruments: 'instrument',
  fluids: 'fluid',
  cells: 'cell',
  baths: 'bath',
}
const SORT_OF: Readonly<Record<string, 'name' | 'serial' | 'due'>> = {
  name: 'name',
  number: 'serial',
  due: 'due',
}

const tablePages = (
  { total, more }: Pages<unknown>,
  onSort: (sorting: Sorting | null) => void,
): TablePages => ({
  total: total ?? 0,
  more,
  onSort,
})

/** The lines of a shelf, those in use or those out of it, as they are searched and put in order, and the record that is open, whole. */
export function useShelf(shelf: Shelf | undefined, search: string, chosen: string | null, retired: boolean) {
  const version = useStation((state) => state?.versions.register)
  const asked = useDeferredValue(search)
  const [sorting, setSorting] = useState<Sorting | null>(null)
  const sort = SORT_OF[sorting?.column ?? ''] ?? 'name'
  const reverse = sorting?.down ?? false
  const pages = usePages<RecordLine>(
    shelf &&
      ((page, signal) =>
        station.register.list(
          {
            ...{ kinds: [KIND_OF[shelf]], search: asked, sort, reverse },
            states: [retired ? 'retired' : 'kept'],
            ...page,
          },
          { signal },
        )),
    [shelf, asked, sort, reverse, retired],
    version,
  )
  // Of another shelf only the lines of before are there for a moment.
  const lines = pages.rows.filter(({ kind }) => shelf !== undefined && kind === KIND_OF[shelf])
  const id = chosen ?? lines[0]?.id
  const whole = useRecords(shelf && id !== undefined ? { [shelf]: [id] } : undefined)
  const entry: Entry | undefined = shelf && whole.data?.[shelf]?.find((one) => one.id === id)
  return {
    lines,
    entry,
    pages: tablePages(pages, setSorting),
    known: pages.total !== undefined && !pages.asking,
    problem: pages.problem ?? whole.problem,
  }
}

/** Everything that has a due date. */
export function DueNow() {
  const version = useStation((state) => state?.versions.register)
  const [sorting, setSorting] = useState<Sorting | null>(null)
  const reverse = sorting?.down ?? false
  const pages = usePages((page) => station.register.dueDates({ reverse, ...page }), [reverse], version)
  return (
    <>
      <Problem words={pages.problem} />
      {pages.total !== undefined && <DueTable due={pages.rows} pages={tablePages(pages, setSorting)} />}
    </>
  )
}

/** The ledger, of one record where `subject` says so. */
export function LedgerNow({ subject }: { subject: string | undefined }) {
  const versions = useStation((state) => state?.versions)
  const [search, setSearch] = useState('')
  const asked = useDeferredValue(search)
  const [sorting, setSorting] = useState<Sorting | null>(null)
  const reverse = sorting?.column === 'n' && !sorting.down
  const pages = usePages(
    (page, signal) =>
      station.register.ledger(
        { search: asked, reverse, ...(subject !== undefined && { subject }), ...page },
        { signal },
      ),
    [subject, asked, reverse],
    versions?.register,
  )
  return (
    <>
      <Problem words={pages.problem} />
      {pages.total !== undefined && (
        <Ledger
          entries={pages.rows}
          pages={tablePages(pages, setSorting)}
          search={search}
          onSearch={setSearch}
          change={(n) => <ChangeNow n={n} />}
          onTakeBack={({ n }) => askToTakeBack(n)}
        />
      )}
    </>
  )
}

function ChangeNow({ n }: { n: number }) {
  const { data, problem } = useAnswer(() => station.register.ledgerEntry({ n }), [n])
  return data ? <OldAndNew entry={data} /> : <Problem words={problem} />
}
