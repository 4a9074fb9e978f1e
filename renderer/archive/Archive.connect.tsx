import { useDeferredValue, useState } from 'react'
import { EmptyBench } from '../bench/EmptyBench.connect.tsx'
import { useAnswer } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { Button } from '../parts/Button.tsx'
import { Empty } from '../parts/Empty.tsx'
import { Problem } from '../parts/Problem.tsx'
import { goTo } from '../shell/page.ts'
import { Detail } from './Detail.connect.tsx'
import { ImportNow } from './Import.connect.tsx'
import { ImportButton } from './ImportButton.tsx'
import { SessionList } from './SessionList.tsx'

export default function ArchivePlace() {
  const hasBench = useStation((state) => state?.bench !== null)
  const version = useStation((state) => state?.versions.sessions)
  const [search, setSearch] = useState('')
  const [chosen, setChosen] = useState<string | null>(null)
  const [importing, setImporting] = useState<File | null>(null)
  const asked = useDeferredValue(search)
  const { data, problem } = useAnswer(() => station.archive.sessions({ search: asked }), [version, asked])
  const rows = data ?? []
  const row = rows.find(({ info }) => info.id === chosen) ?? rows[0]
  const importNow = importing && (
    <ImportNow
      file={importing}
      onDone={(session) => {
        setImporting(null)
        setSearch('')
        setChosen(session)
      }}
      onClose={() => setImporting(null)}
    />
  )
  if (data?.length === 0 && asked === '') {
    if (importNow) return importNow
    if (!hasBench) return <EmptyBench />
    return (
      <Empty
        title="No session has been kept yet"
        buttons={
          <>
            <Button look="main" onPress={() => goTo('plan')}>
              Plan a night
            </Button>
            <ImportButton onImport={setImporting} />
          </>
        }
      >
        <p>
          Every session is one file that holds its readings as they came, the bench, the plan and the
          calibrations of its day. It appears here when it begins, and can be replayed and compared for as
          long as the file exists.
        </p>
      </Empty>
    )
  }
  return (
    <div className="two archive">
      <SessionList
        rows={rows}
        chosen={row?.info.id ?? null}
        search={search}
        onSearch={setSearch}
        onChoose={(id) => {
          setImporting(null)
          setChosen(id)
        }}
        onImport={setImporting}
      />
      {importNow ??
        (row ? (
          <Detail
            key={row.info.id}
            row={row}
            others={rows.filter((r) => r !== row)}
            onClose={chosen === null ? undefined : () => setChosen(null)}
          />
        ) : (
          <div className="stack">
            <Problem words={problem} />
            <p className="faint hint">
              Choose a session to see its night, open its points, replay it or compare it.
            </p>
          </div>
        ))}
    </div>
  )
}
