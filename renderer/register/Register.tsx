import type { ReactNode } from 'react'
import { FileTrigger } from 'react-aria-components'
import type { RecordLine } from '../../app/contract/pages.ts'
import { Button } from '../parts/Button.tsx'
import { Field } from '../parts/Field.tsx'
import { OneOf } from '../parts/OneOf.tsx'
import { Problem } from '../parts/Problem.tsx'
import type { TablePages } from '../parts/Table.tsx'
import { Tick } from '../parts/Tick.tsx'
import { SHELVES, type View } from './register.model.ts'
import { ShelfTable } from './ShelfTable.tsx'

interface Props {
  view: View
  lines: readonly RecordLine[]
  pages: TablePages
  today: string
  due: ReactNode
  chosen: string | null
  search: string
  /** Whether those out of use are listed. */
  retired: boolean
  /** Whether who sits here may look only. */
  locked: boolean
  detail: ReactNode
  checks: ReactNode
  charts: ReactNode
  ledger: ReactNode
  station: ReactNode
  problem: string | undefined
  onView: (view: View) => void
  onChoose: (id: string) => void
  onSearch: (search: string) => void
  onRetired: (retired: boolean) => void
  onNew: () => void
  onImport: (file: File) => void
  onExport: (format: 'json' | 'csv') => void
}

/** The lasting records. */
export function RegisterPanel(props: Props) {
  const { view, chosen, search, detail } = props
  const shelf = SHELVES.find(({ id }) => id === view)
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
          {!props.locked && (
            <FileTrigger
              acceptedFileTypes={['.json', '.csv', '.xml']}
              onSelect={(files) => files?.[0] && props.onImport(files[0])}
            >
              <Button onPress={() => undefined}>Import</Button>
            </FileTrigger>
          )}
          <Button onPress={() => props.onExport('json')}>Export JSON</Button>
          <Button onPress={() => props.onExport('csv')}>Export CSV</Button>
        </div>
      </div>
      <Problem words={props.problem} />
      {view === 'checks' && props.checks}
      {view === 'charts' && props.charts}
      {view === 'ledger' && props.ledger}
      {view === 'station' && props.station}
      {view === 'due' && props.due}
      {shelf && (
        <div className="two register-two">
          <div className="stack">
            <Field label={`Search ${shelf.id}`} type="search" value={search} onChange={props.onSearch} />
            <ShelfTable
              label={shelf.name}
              lines={props.lines}
              ranges={shelf.id === 'fluids'}
              today={props.today}
              pages={props.pages}
              chosen={chosen}
              onChoose={props.onChoose}
            />
            <div className="row row-apart">
              {!props.locked && <Button onPress={props.onNew}>{`New ${shelf.one}`}</Button>}
              <Tick on={props.retired} onChange={props.onRetired}>
                Out of use
              </Tick>
            </div>
          </div>
          {detail ?? (
            <p className="faint hint">
              {search === '' && props.retired
                ? `No ${shelf.one} is out of use.`
                : `No ${shelf.one} has that in its name or number.`}
            </p>
          )}
        </div>
      )}
    </>
  )
}
