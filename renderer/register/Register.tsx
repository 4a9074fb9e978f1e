import type { ReactNode } from 'react'
import { FileTrigger } from 'react-aria-components'
import { Button } from '../parts/Button.tsx'
import { Field } from '../parts/Field.tsx'
import { OneOf } from '../parts/OneOf.tsx'
import { Problem } from '../parts/Problem.tsx'
import { type Entry, SHELVES, type View } from './register.model.ts'

export interface DueRow {
  entry: string
  name: string
  due: string
  days: number
  words: string
}

interface Props {
  view: View
  entries: readonly Entry[]
  due: readonly DueRow[]
  chosen: string | null
  search: string
  unlockedWords: string
  detail: ReactNode
  checks: ReactNode
  charts: ReactNode
  ledger: ReactNode
  station: ReactNode
  problem: string | undefined
  onView: (view: View) => void
  onChoose: (id: string) => void
  onSearch: (search: string) => void
  onNew: () => void
  onUnlock: () => void
  onImport: (file: File) => void
  onExport: (format: 'json' | 'csv') => void
}

const WARN_DAYS = 60

/** The lasting records. */
export function RegisterPanel(props: Props) {
  const { view, entries, due, chosen, search, detail } = props
  const shelf = SHELVES.find(({ id }) => id === view)
  const dueOf = (id: string) => due.find((d) => d.entry === id && d.days < WARN_DAYS)
  return (
    <>
      <div className="row row-apart">
        <OneOf
          label="Shelf"
          value={view}
          options={[
            ...SHELVES,
            { id: 'checks' as const, name: 'Checks' },
            { id: 'charts' as const, name: 'Charts' },
            { id: 'due' as const, name: 'Due dates' },
            { id: 'ledger' as const, name: 'Ledger' },
            { id: 'station' as const, name: 'Station' },
          ]}
          onChange={props.onView}
        />
        <div className="row">
          <span className="faint">{props.unlockedWords}</span>
          <Button onPress={props.onUnlock}>Custodian</Button>
          <FileTrigger
            acceptedFileTypes={['.json', '.csv']}
            onSelect={(files) => files?.[0] && props.onImport(files[0])}
          >
            <Button onPress={() => undefined}>Import</Button>
          </FileTrigger>
          <Button onPress={() => props.onExport('json')}>Export JSON</Button>
          <Button onPress={() => props.onExport('csv')}>Export CSV</Button>
        </div>
      </div>
      <Problem words={props.problem} />
      {view === 'checks' && props.checks}
      {view === 'charts' && props.charts}
      {view === 'ledger' && props.ledger}
      {view === 'station' && props.station}
      {view === 'due' && (
        <ul className="due" aria-label="Due dates">
          {due.length === 0 && <li className="faint hint">No record has a due date yet.</li>}
          {[...due]
            .sort((a, b) => a.days - b.days)
            .map((d) => (
              <li
                key={`${d.entry}${d.due}`}
                className={d.days < 0 ? 'is-past' : d.days < WARN_DAYS ? 'is-soon' : ''}
              >
                <strong>{d.name}</strong>
                <span>{d.words}</span>
                <span>{d.days < 0 ? `${-d.days} days ago` : `in ${d.days} days`}</span>
              </li>
            ))}
        </ul>
      )}
      {shelf && (
        <div className="two">
          <div className="stack">
            <Field label={`Find a ${shelf.one}`} type="search" value={search} onChange={props.onSearch} />
            <nav className="pick register-pick" aria-label={shelf.name}>
              {entries.map((entry) => {
                const soon = dueOf(entry.id)
                return (
                  <button
                    key={entry.id}
                    type="button"
                    aria-current={entry.id === chosen}
                    onClick={() => props.onChoose(entry.id)}
                  >
                    <span>{entry.name}</span>
                    <small>
                      {'serial' in entry ? entry.serial : `${entry.lowC} to ${entry.highC} °C`}
                      {soon && (
                        <em>{soon.days < 0 ? ', past its due date' : `, due in ${soon.days} days`}</em>
                      )}
                    </small>
                  </button>
                )
              })}
            </nav>
            <Button onPress={props.onNew}>{`New ${shelf.one}`}</Button>
          </div>
          {detail ?? <p className="faint hint">{`No ${shelf.one} has that in its name or number.`}</p>}
        </div>
      )}
    </>
  )
}
