import type { Change } from '../text/undo.ts'
import type { PlanAct, PlanDraft } from './plan.model.ts'
import { PRESETS, RULE_FIELDS } from './rule.model.ts'

/** What an edit of the plan is, in words that fit behind 'Taken back: '. */

const WORDS: Partial<Record<keyof PlanDraft, string>> = {
  name: 'the name of the plan',
  order: 'the order of readings',
  cycles: 'how many times through',
  maxWait: 'the longest wait',
  onTimeout: 'what happens if it never settles',
  ramp: 'the rate of change',
  wtpCheck: 'the readings at the water triple point',
  insulationCheck: 'the insulation measured at the end',
  atEnd: 'the bath after the last point',
}
const TYPED: ReadonlySet<string> = new Set(['name', 'cycles', 'maxWait', 'ramp'])

export function planChange(draft: PlanDraft, act: Exclude<PlanAct, { do: 'load' }>): Change {
  const number = (key: number) => draft.rows.findIndex((r) => r.key === key) + 1
  switch (act.do) {
    case 'set': {
      const field = (Object.keys(act.part)[0] ?? '') as keyof PlanDraft
      return { words: WORDS[field] ?? 'the plan', typing: TYPED.has(field) ? field : undefined }
    }
    case 'row': {
      const setpoint = `setpoint ${number(act.key)}`
      if ('celsius' in act.part)
        return { words: `the temperature of ${setpoint}`, typing: `celsius ${act.key}` }
      if ('label' in act.part) return { words: `the label of ${setpoint}`, typing: `label ${act.key}` }
      return { words: `the self-heating pair at ${setpoint}` }
    }
    case 'add':
      return { words: 'one setpoint more' }
    case 'remove':
      return { words: `setpoint ${number(act.key)} removed` }
    case 'leave-out':
      return { words: `the setpoints at ${act.celsius} °C left out` }
    case 'move':
      return { words: `setpoint ${number(act.key)} moved` }
    case 'paste':
      return { words: 'the setpoints that were pasted' }
    case 'spread':
      return { words: 'the setpoints that were spread' }
    case 'turn':
      return { words: 'the setpoints on the way back' }
    case 'preset':
      return { words: `the settling rule ${PRESETS.find(({ id }) => id === act.id)?.name ?? ''}`.trim() }
    case 'rule':
      return { words: RULE_FIELDS[act.field].name.toLowerCase(), typing: `rule ${act.field}` }
  }
}
