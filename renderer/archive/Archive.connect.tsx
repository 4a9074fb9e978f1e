import { useCallback, useDeferredValue, useState } from 'react'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { usePages } from '../client/pages.ts'
import { useNames } from '../client/records.ts'
import { useStation } from '../client/state.ts'
import { EmptyBench } from '../desk/EmptyBench.connect.tsx'
import { goTo, usePath } from '../page/page.ts'
import { Problem } from '../parts/Problem.tsx'
import { cellsAsText, type Sorting } from '../parts/table.model.ts'
import { sessionOrder } from './archive.model.ts'
import { Detail } from './Detail.connect.tsx'
import { ImportNow } from './Import.connect.tsx'
import { NoSession } from './NoSession.tsx'
import { SessionFinder } from './SessionFinder.tsx'
import { SessionList } from './SessionList.tsx'
import { SessionTable } from './SessionTable.tsx'

/** Sessions asked for at a time. */
const PAGE = 100

export default function ArchivePlace() {
  const hasBench = useStation((state) => state?.bench !== null)
  const version = useStation((state) => state?.versions.sessions)
  const [search, setSearch] = useState('')
  const [chosen = null, moment] = usePath('archive')
  const [importing, setImporting] = useState<File | null>(null)
  const asked = useDeferredValue(search)
  const [view, setView] = useState<'pictures' | 'table'>('pictures')
  const [sorting, setSorting] = useState<Sorting | null>(null)
  const choose = useCallback((id: string) => {
    setImporting(null)
    goTo('archive', [id])
  }, [])
  const order = sessionOrder(sorting)
  const pages = usePages(
    (page, signal) => station.archive.sessions({ search: asked, ...order, ...page }, { signal }),
    [asked, order],
    version,
    PAGE,
  )
  const { rows, total, problem } = pages
  const names = useNames(
    'thermometer',
    rows.flatMap(({ thermometers }) => thermometers),
  )
  const listed = rows.find(({ info }) => info.id === chosen)
  // A session that is led to from elsewhere may stand far down the list.
  const led = useAnswer(
    chosen !== null && !listed ? () => station.archive.sessions({ ids: [chosen] }) : undefined,
    [chosen, listed === undefined, version],
  )
  const row = listed ?? led.data?.rows[0] ?? rows[0]
  const importNow = importing && (
    <ImportNow
      file={importing}
      onDone={(session) => {
        setImporting(null)
        setSearch('')
        goTo('archive', [session])
      }}
      onClose={() => setImporting(null)}
    />
  )
  if (total === 0 && asked === '') {
    if (importNow) return importNow
    if (!hasBench) return <EmptyBench />
    return <NoSession onImport={setImporting} />
  }
  const finder = (
    <SessionFinder
      search={search}
      view={view}
      onSearch={setSearch}
      onView={setView}
      onImport={setImporting}
    />
  )
  const shared = {
    rows,
    chosen: row?.info.id ?? null,
    names,
    onChoose: choose,
    total: total ?? 0,
    more: pages.more,
  }
  const study =
    importNow ??
    (row ? (
      <Detail
        key={`${row.info.id} ${moment}`}
        row={row}
        at={/^\d+$/.test(moment ?? '') ? Number(moment) : undefined}
        onClose={chosen === null ? undefined : () => goTo('archive', [])}
      />
    ) : (
      <div className="stack">
        <Problem words={problem} />
        {total === 0 && (
          <p className="faint hint">
            {`No session is found by “${asked}”. Every word must be in its name, its operator, its note, a thermometer or its day.`}
          </p>
        )}
      </div>
    ))
  if (view === 'table')
    return (
      <div className="stack">
        <div className="row row-end">{finder}</div>
        <SessionTable
          {...shared}
          onSort={setSorting}
          onPaste={(cells) =>
            setImporting(new File([cellsAsText(cells)], 'pasted.tsv', { type: 'text/plain' }))
          }
        />
        <p className="faint">
          A table that was recorded elsewhere can also be pasted here from a spreadsheet: choose a cell and
          press Ctrl V.
        </p>
        {study}
      </div>
    )
  return (
    <div className="two archive">
      <div className="session-list">
        {finder}
        <SessionList {...shared} />
      </div>
      {study}
    </div>
  )
}
