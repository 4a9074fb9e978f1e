import { useEffect, useMemo, useReducer, useState } from 'react'
import type { Settings } from '../../../app/contract/settings.ts'
import { useAct } from '../../client/act.ts'
import { station } from '../../client/connect.ts'
import { useSettings } from '../../client/state.ts'
import { sayTurnable, useDesk } from '../../client/taking-back.ts'
import { undoable } from '../../text/undo.ts'
import { AlarmsNow } from './Alarms.connect.tsx'
import { BackupNow } from './Backup.connect.tsx'
import { ForwardingNow } from './Forwarding.connect.tsx'
import { Logo } from './Logo.tsx'
import { PeopleNow } from './People.connect.tsx'
import { ProgramsNow } from './Programs.connect.tsx'
import { readLogo } from './read-logo.ts'
import { SettingsForm } from './SettingsForm.tsx'
import { LOGO, readSettings, settingsReduce, settingsTexts } from './settings.model.ts'
import { ValidationNow } from './Validation.connect.tsx'

export function StationSettings() {
  const settings = useSettings()
  if (!settings) return null
  return (
    <div className="stack">
      <SettingsNow settings={settings} />
      <AlarmsNow />
      <PeopleNow />
      <ProgramsNow />
      <ValidationNow />
    </div>
  )
}

function SettingsNow({ settings }: { settings: Settings }) {
  const [state, act] = useReducer(settingsReduce, settings, (from) => undoable(settingsTexts(from)))
  const { problem, attempt } = useAct()
  const [logoProblem, setLogoProblem] = useState<string>()
  useEffect(() => act({ do: 'load', texts: settingsTexts(settings) }), [settings])
  const read = useMemo(() => readSettings(state.now, settings), [state.now, settings])
  useDesk({
    id: 'settings',
    undoWords: state.past.at(-1)?.words,
    redoWords: state.future[0]?.words,
    undo: () => act({ do: 'undo' }),
    redo: () => act({ do: 'redo' }),
  })
  return (
    <SettingsForm
      texts={state.now}
      problems={read.problems}
      problem={problem}
      ready={read.settings !== undefined && JSON.stringify(read.settings) !== JSON.stringify(settings)}
      logo={
        <Logo
          picture={state.now[LOGO] ?? ''}
          problem={logoProblem}
          onRemove={() => act({ do: 'text', key: LOGO, text: '' })}
          onChoose={(file) =>
            void readLogo(file).then((read) => {
              setLogoProblem(read.problem)
              if (read.picture !== undefined) act({ do: 'text', key: LOGO, text: read.picture })
            })
          }
        />
      }
      backup={<BackupNow folder={settings.backupFolder} />}
      forwarding={<ForwardingNow />}
      onChange={(key, text) => act({ do: 'text', key, text })}
      onSave={() => {
        const next = read.settings!
        attempt(station.settings.save({ settings: next }), ({ words }) => {
          sayTurnable('settings', words, {
            words: 'the save of the settings',
            back: () => station.settings.save({ settings }),
            again: () => station.settings.save({ settings: next }),
          })
        })
      }}
    />
  )
}
