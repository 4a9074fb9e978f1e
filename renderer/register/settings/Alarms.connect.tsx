import { useEffect, useReducer, useState } from 'react'
import type { AlarmRules } from '../../../app/contract/settings.ts'
import { useAct } from '../../client/act.ts'
import { useAnswer } from '../../client/ask.ts'
import { station } from '../../client/connect.ts'
import { reuse } from '../../client/reuse.ts'
import { useStation } from '../../client/state.ts'
import { sayTurnable, useDesk } from '../../client/taking-back.ts'
import { undoable } from '../../text/undo.ts'
import { AlarmRulesForm } from './AlarmRulesForm.tsx'
import { rulesEdit } from './settings.model.ts'

const NONE: AlarmRules = { rules: [], groupS: 60, email: null, webhook: null, sound: true }

export function AlarmsNow() {
  const [asked, setAsked] = useState(0)
  const saved = useAnswer(() => station.alarms.rules(), [asked])
  const [state, act] = useReducer(rulesEdit, undoable(NONE))
  const { problem, attempt } = useAct()
  const channels = useStation((state) => state?.channels) ?? []
  const links = useStation((state) => state?.links) ?? []
  useEffect(() => {
    if (saved.data) act({ do: 'load', rules: saved.data })
  }, [saved.data])
  const rules = state.now
  useDesk({
    id: 'alarms',
    undoWords: state.past.at(-1)?.words,
    redoWords: state.future[0]?.words,
    undo: () => act({ do: 'undo' }),
    redo: () => act({ do: 'redo' }),
  })
  const put = async (to: AlarmRules) => {
    await station.alarms.saveRules({ rules: to })
    setAsked((n) => n + 1)
  }
  return (
    <AlarmRulesForm
      rules={rules}
      subjects={[
        ...channels.map(({ id, name }) => ({ id, name })),
        ...links.map(({ instrument, name }) => ({ id: instrument, name })),
      ]}
      changed={saved.data !== undefined && reuse(saved.data, rules) !== saved.data}
      problem={problem ?? saved.problem}
      act={act}
      onSave={() => {
        const email = rules.email && {
          ...rules.email,
          to: rules.email.to.map((to) => to.trim()).filter(Boolean),
        }
        const next = { ...rules, email }
        const before = saved.data
        attempt(station.alarms.saveRules({ rules: next }), ({ words }) => {
          setAsked((n) => n + 1)
          if (before)
            sayTurnable('alarms', words, {
              words: 'the save of the alarm rules',
              back: () => put(before),
              again: () => put(next),
            })
        })
      }}
    />
  )
}
