import { useEffect, useReducer, useState } from 'react'
import type { AlarmRules } from '../../app/contract/settings.ts'
import { useAnswer, wordsOf } from '../client/ask.ts'
import { station } from '../client/connect.ts'
import { useStation } from '../client/state.ts'
import { page, say } from '../shell/page.ts'
import { AlarmRulesForm } from './AlarmRulesForm.tsx'
import { rulesReduce } from './settings.model.ts'

const NONE: AlarmRules = { rules: [], groupS: 60, email: null, webhook: null, sound: true }

export function AlarmsNow() {
  const [asked, setAsked] = useState(0)
  const saved = useAnswer(() => station.alarms.rules(), [asked])
  const [rules, act] = useReducer(rulesReduce, NONE)
  const [problem, setProblem] = useState<string>()
  const channels = useStation((state) => state?.channels) ?? []
  const links = useStation((state) => state?.links) ?? []
  useEffect(() => {
    if (saved.data) act({ do: 'load', rules: saved.data })
  }, [saved.data])
  return (
    <AlarmRulesForm
      rules={rules}
      subjects={[
        ...channels.map(({ id, name }) => ({ id, name })),
        ...links.map(({ instrument, name }) => ({ id: instrument, name })),
      ]}
      changed={saved.data !== undefined && JSON.stringify(rules) !== JSON.stringify(saved.data)}
      problem={problem ?? saved.problem}
      act={act}
      onSave={() => {
        const email = rules.email && {
          ...rules.email,
          to: rules.email.to.map((to) => to.trim()).filter(Boolean),
        }
        station.alarms
          .saveRules({ rules: { ...rules, email }, who: page.getState().who || 'someone at the window' })
          .then(
            ({ words }) => {
              setProblem(undefined)
              setAsked((n) => n + 1)
              say(words)
            },
            (fault) => setProblem(wordsOf(fault)),
          )
      }}
    />
  )
}
