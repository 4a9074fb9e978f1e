import type { AlarmRules } from '../../../app/contract/settings.ts'
import { Button } from '../../parts/Button.tsx'
import { Choice } from '../../parts/Choice.tsx'
import { NumberField } from '../../parts/NumberField.tsx'
import { Tick } from '../../parts/Tick.tsx'
import { ALARM_OPTIONS, KIND_WORDS, type RulesAct, ruleProblem } from './settings.model.ts'

interface Props {
  rule: AlarmRules['rules'][number]
  /** Its number in the list, from 1. */
  n: number
  subjects: readonly { id: string; name: string }[]
  act: (a: RulesAct) => void
}

const ALL = '-'
const SEVERITIES = [
  { id: 'notice', name: 'Notice' },
  { id: 'warning', name: 'Warning' },
  { id: 'alarm', name: 'Alarm' },
] as const

const inUnit = (value: number | undefined, scale: number): number | undefined =>
  value === undefined ? undefined : Number((value / scale).toPrecision(12))

/** One rule: what raises the alarm, where, beyond which limits. */
export function AlarmRuleRow({ rule, n, subjects, act }: Props) {
  const words = KIND_WORDS[rule.kind]
  const missing = ruleProblem(rule)
  return (
    <tr>
      <td className="left">
        <Choice
          compact
          label={`When, rule ${n}`}
          value={rule.kind}
          options={ALARM_OPTIONS}
          onChange={(kind) => act({ do: 'rule', id: rule.id, part: { kind } })}
        />
        <p className="field-about">{words.todo}</p>
        {missing && <p className="cell-problem">{missing}</p>}
      </td>
      <td className="left">
        <Choice
          compact
          label={`Where, rule ${n}`}
          value={rule.subject ?? ALL}
          options={[{ id: ALL, name: 'Everywhere' }, ...subjects]}
          onChange={(id) => act({ do: 'subject', id: rule.id, subject: id === ALL ? undefined : id })}
        />
      </td>
      <td>
        <Limit side="above" rule={rule} n={n} act={act} />
      </td>
      <td>
        <Limit side="below" rule={rule} n={n} act={act} />
      </td>
      <td className="left">
        <Choice
          compact
          label={`Severity, rule ${n}`}
          value={rule.severity}
          options={SEVERITIES}
          onChange={(severity) => act({ do: 'rule', id: rule.id, part: { severity } })}
        />
      </td>
      <td className="left">
        <Tick
          on={rule.enabled}
          label={`Rule ${n} is on`}
          onChange={(enabled) => act({ do: 'rule', id: rule.id, part: { enabled } })}
        >
          {''}
        </Tick>
      </td>
      <td>
        <Button look="quiet" label={`Remove rule ${n}`} onPress={() => act({ do: 'remove', id: rule.id })}>
          ×
        </Button>
      </td>
    </tr>
  )
}

/** One side of a rule's limits; nothing where its kind has none. */
function Limit({ side, rule, n, act }: Omit<Props, 'subjects'> & { side: 'above' | 'below' }) {
  const words = KIND_WORDS[rule.kind]
  const scale = words.scale ?? 1
  if (words[side] === undefined) return null
  return (
    <span className="rule-limit">
      <span>
        <span aria-hidden="true">{words[side].toLowerCase()}</span>
        {rule[side] === undefined && words.usual !== undefined && (
          <small>{` (usually ${words.usual} ${words.unit})`}</small>
        )}
      </span>
      <NumberField
        compact
        optional
        label={`${words[side]}, rule ${n}`}
        unit={words.unit}
        {...(words.units ? { units: words.units } : {})}
        value={inUnit(rule[side], scale)}
        onChange={(value) =>
          act({
            do: 'limit',
            id: rule.id,
            side,
            value: value === undefined ? value : value * scale,
          })
        }
      />
    </span>
  )
}
