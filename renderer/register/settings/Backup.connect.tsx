import { useState } from 'react'
import { useAct } from '../../client/act.ts'
import { station } from '../../client/connect.ts'
import { say } from '../../page/page.ts'
import { Button } from '../../parts/Button.tsx'
import { FormFields } from '../../parts/FormFields.tsx'
import type { FieldSpec, Texts } from '../../parts/forms.ts'
import { Problem } from '../../parts/Problem.tsx'

const RESTORE_FIELDS: readonly FieldSpec[] = [
  { key: 'from', label: 'Backup folder', type: 'text' },
  {
    key: 'to',
    label: 'New data folder',
    type: 'text',
    about: 'One that does not exist yet, on a disk of this computer. Nothing is put over records.',
  },
]

/** The whole backup now, and a new data folder made of one: how a station moves to another computer. */
export function BackupNow({ folder }: { folder: string | null }) {
  const [texts, setTexts] = useState<Texts>()
  const { problem, working, attempt } = useAct()
  const run = (call: Promise<{ words: string }>, done?: () => void) =>
    void attempt(call, ({ words }) => {
      say(words)
      done?.()
    })
  return (
    <section className="stack" aria-label="Backup">
      <h3>Backup</h3>
      <div className="row">
        <Button
          disabled={working !== undefined || folder === null}
          onPress={() => run(station.archive.backupAll())}
        >
          Copy everything now
        </Button>
        <Button look="quiet" onPress={() => setTexts(texts ? undefined : { from: folder ?? '', to: '' })}>
          Restore a backup
        </Button>
      </div>
      {folder === null && <p className="faint">Choose and save a folder for backups first.</p>}
      {texts && (
        <>
          <FormFields
            specs={RESTORE_FIELDS}
            texts={texts}
            problems={{}}
            onChange={(key, text) => setTexts({ ...texts, [key]: text })}
          />
          <div>
            <Button
              disabled={working !== undefined || !texts.from?.trim() || !texts.to?.trim()}
              onPress={() =>
                run(station.archive.restoreBackup({ from: texts.from!.trim(), to: texts.to!.trim() }), () =>
                  setTexts(undefined),
                )
              }
            >
              Restore into the new folder
            </Button>
          </div>
        </>
      )}
      <Problem words={problem} />
    </section>
  )
}
