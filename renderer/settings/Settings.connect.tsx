import { useEffect, useMemo, useState } from 'react'
import type { Settings } from '../../app/contract/settings.ts'
import { wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useSettings } from '../client/state.ts'
import { page, say } from '../shell/page.ts'
import { AlarmsNow } from './Alarms.connect.tsx'
import { SettingsForm } from './SettingsForm.tsx'
import { readSettings, settingsTexts } from './settings.model.ts'

export function StationSettings() {
  const settings = useSettings()
  if (!settings) return null
  return (
    <div className="stack">
      <SettingsNow settings={settings} />
      <AlarmsNow />
    </div>
  )
}

function SettingsNow({ settings }: { settings: Settings }) {
  const [texts, setTexts] = useState(() => settingsTexts(settings))
  const [problem, setProblem] = useState<string>()
  useEffect(() => setTexts(settingsTexts(settings)), [settings])
  const read = useMemo(() => readSettings(texts, settings), [texts, settings])
  return (
    <SettingsForm
      texts={texts}
      problems={read.problems}
      problem={problem}
      ready={read.settings !== undefined && JSON.stringify(read.settings) !== JSON.stringify(settings)}
      onChange={(key, text) => setTexts((old) => ({ ...old, [key]: text }))}
      onSave={() => {
        const who = page.getState().who || 'someone at the window'
        const back = () => void station.settings.save({ settings, who })
        station.settings.save({ settings: read.settings!, who }).then(
          ({ words }) => {
            setProblem(undefined)
            say(words, 'done', back)
          },
          (fault) => setProblem(wordsOf(fault)),
        )
      }}
    />
  )
}
