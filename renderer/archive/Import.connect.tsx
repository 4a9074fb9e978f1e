import { useEffect, useState } from 'react'
import type { TableLook } from '../../app/contract/tables.ts'
import { useAct } from '../client/act.ts'
import { wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useChoices } from '../client/records.ts'
import { useBackStep } from '../page/hooks.ts'
import { say } from '../page/page.ts'
import { Button } from '../parts/Button.tsx'
import { Problem } from '../parts/Problem.tsx'
import { ImportTable } from './ImportTable.tsx'
import { BEGINNING, draftOf, LARGEST_TABLE, localOffset, meaningOf, type TableDraft } from './import.model.ts'

const TOO_LARGE =
  'This table is too large to hand over here. The command "stillpoint import" reads it where it lies; see "stillpoint import --help".'

interface Props {
  file: File
  onDone: (session: string) => void
  onClose: () => void
}

/** Reads a table that a person chose, asks what its columns mean, and makes a session of it. */
export function ImportNow({ file, onDone, onClose }: Props) {
  const [look, setLook] = useState<TableLook>()
  const [draft, setDraft] = useState<TableDraft>()
  const { problem, working, attempt, refuse } = useAct()
  useBackStep(true, onClose)
  useEffect(() => {
    let wanted = true
    file
      .slice(0, BEGINNING)
      .text()
      .then((beginning) => station.archive.lookAtTable({ beginning }))
      .then(
        (seen) => {
          if (!wanted) return
          setLook(seen)
          setDraft(draftOf(seen, file.name, localOffset(new Date(file.lastModified))))
        },
        (fault) => wanted && refuse(wordsOf(fault)),
      )
    return () => {
      wanted = false
    }
  }, [file, refuse])
  const thermometers = useChoices('thermometer', draft?.columns.map(({ thermometer }) => thermometer) ?? [])
  const resistors = useChoices('resistor', draft?.columns.map(({ resistor }) => resistor) ?? [])
  const tooLarge = file.size > LARGEST_TABLE ? TOO_LARGE : undefined
  if (!look || !draft || !thermometers.known || !resistors.known) {
    return (
      <div className="stack">
        <Problem words={problem} />
        {problem ? (
          <div className="row">
            <Button onPress={onClose}>Close</Button>
          </div>
        ) : (
          <p className="working" role="status">
            Looking at the table
          </p>
        )}
      </div>
    )
  }
  const read = meaningOf(draft, look)
  return (
    <ImportTable
      file={file.name}
      look={look}
      draft={draft}
      thermometers={thermometers}
      resistors={resistors}
      missing={tooLarge ?? ('missing' in read ? read.missing : undefined)}
      problem={problem}
      working={working !== undefined}
      onChange={setDraft}
      onClose={onClose}
      onImport={() => {
        if ('missing' in read) return
        void attempt(
          station.archive.importTable({
            table: file,
            file: file.name,
            name: draft.name.trim() || file.name,
            meaning: read.meaning,
          }),
          ({ session, words }) => {
            say(words)
            onDone(session)
          },
        )
      }}
    />
  )
}
