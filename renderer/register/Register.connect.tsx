import { useMemo, useState } from 'react'
import { useAct } from '../client/act.ts'
import { station } from '../client/connect.ts'
import { useToday } from '../client/state.ts'
import { handBack, NEW_RECORD } from '../desk/wanted-record.model.ts'
import { useBackStep, useCommands } from '../page/hooks.ts'
import { goTo, say, usePath } from '../page/page.ts'
import { useMay } from '../page/person.ts'
import { save } from '../text/save.ts'
import { AllCharts } from './Charts.connect.tsx'
import { ChecksNow } from './checks/Checks.connect.tsx'
import { CHECK_PAGES } from './checks/guides.ts'
import { EditorNow } from './Editor.connect.tsx'
import { EmptyShelf } from './EmptyShelf.connect.tsx'
import { EntryNow } from './Entry.connect.tsx'
import { DueNow, LedgerNow, useShelf } from './lists.connect.tsx'
import { RegisterPanel } from './Register.tsx'
import { pathOf, type RegisterAddress, readPath } from './register.address.ts'
import { SHELVES, type View } from './register.model.ts'
import { StationSettings } from './settings/Settings.connect.tsx'
import { TakeBackNow } from './TakeBack.connect.tsx'
import { type LookedAtFile, lookAtFile, TakeCertificateNow } from './TakeCertificate.connect.tsx'

export default function RegisterPlace() {
  const today = useToday()
  const may = useMay('keep-records')
  const address = readPath(usePath('register'))
  const { view, check, id: chosen, editing } = address
  const setAddress = (next: Partial<RegisterAddress>) => goTo('register', pathOf({ ...address, ...next }))
  const setView = (next: View) => setAddress({ view: next, id: null, editing: false })
  const setChosen = (id: string | null) => setAddress({ id, editing: false })
  const [search, setSearch] = useState('')
  const [retired, setRetired] = useState(false)
  const [subject, setSubject] = useState<string>()
  const { problem, attempt } = useAct()
  const [taking, setTaking] = useState<LookedAtFile>()
  const commands = useMemo(
    () =>
      CHECK_PAGES.map(({ id, name }) => ({
        id: `check-${id}`,
        words: `Check: ${name}`,
        group: 'Register',
        run: () => goTo('register', ['checks', id]),
      })),
    [],
  )
  useCommands('register-checks', commands)
  useBackStep(chosen !== null && !editing, () => setChosen(null))
  useBackStep(editing, () => setAddress({ editing: false }))
  const shelf = SHELVES.find(({ id }) => id === view)?.id
  const { lines, entry, pages, known, problem: listProblem } = useShelf(shelf, search, chosen, retired)
  const addNew = () => setAddress({ id: null, editing: true })
  const isEmpty = known && search === '' && !retired && lines.length === 0
  const detail =
    shelf &&
    (may && editing && (chosen === null || entry?.id === chosen) ? (
      <EditorNow
        key={`${shelf}/${chosen ?? NEW_RECORD}`}
        shelf={shelf}
        entry={chosen === null ? undefined : entry}
        onDone={(id) => {
          // A list elsewhere may have missed the new record.
          const back = chosen === null ? handBack(shelf, id) : undefined
          if (back) goTo(back.place, back.path)
          else setChosen(id ?? chosen)
        }}
      />
    ) : entry ? (
      <EntryNow
        shelf={shelf}
        entry={entry}
        locked={!may}
        onEdit={() => setAddress({ id: entry.id, editing: true })}
        onLedger={() => {
          setSubject(entry.id)
          setView('ledger')
        }}
      />
    ) : isEmpty ? (
      <EmptyShelf one={SHELVES.find(({ id }) => id === shelf)!.one} onNew={addNew} />
    ) : undefined)
  return (
    <>
      <RegisterPanel
        view={view}
        lines={lines}
        pages={pages}
        today={today}
        due={<DueNow />}
        chosen={entry?.id ?? null}
        search={search}
        retired={retired}
        locked={!may}
        problem={problem ?? listProblem}
        onView={(next) => {
          setView(next)
          setSubject(undefined)
        }}
        onChoose={setChosen}
        onSearch={setSearch}
        onRetired={(next) => {
          setRetired(next)
          setChosen(null)
        }}
        onNew={addNew}
        onImport={(file) =>
          void attempt(async () => {
            if (/\.xml$/i.test(file.name)) {
              setTaking(await lookAtFile(file))
              return
            }
            const { words } = await station.register.importFile({
              file,
              why: `imported from ${file.name}`,
            })
            say(words)
          })
        }
        onExport={(format) =>
          attempt(station.register.exportFile({ format }), (bytes) =>
            save(bytes as Blob, `register.${format}`),
          )
        }
        checks={<ChecksNow page={check} onPage={(next) => setAddress({ view: 'checks', check: next })} />}
        charts={<AllCharts />}
        ledger={<LedgerNow key={subject ?? ''} subject={subject} />}
        station={<StationSettings />}
        detail={detail}
      />
      {taking && (
        <TakeCertificateNow
          {...taking}
          onDone={(id) => {
            setTaking(undefined)
            if (id) setChosen(id)
          }}
        />
      )}
      <TakeBackNow />
    </>
  )
}
