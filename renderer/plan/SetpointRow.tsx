import { Button } from '../parts/Button.tsx'
import { Field } from '../parts/Field.tsx'
import { Tick } from '../parts/Tick.tsx'
import type { PlanAct, PlanDraft } from './plan.model.ts'
import { readSetpoints } from './setpoints.model.ts'

interface Props {
  row: PlanDraft['rows'][number]
  /** Its place in the plan, from 1, and how many there are. */
  n: number
  of: number
  problem: string | undefined
  act: (a: PlanAct) => void
  onPaste: (key: number, text: string) => void
  /** On to the next temperature. */
  onNext: () => void
}

/** One setpoint of the plan, and what is done there besides the point. */
export function SetpointRow({ row, n, of, problem, act, onPaste, onNext }: Props) {
  return (
    <tr>
      <th scope="row">{n}</th>
      <td>
        <Field
          compact
          numeric
          label={`Setpoint ${n}`}
          unit="°C"
          value={row.celsius}
          problem={row.celsius === '' ? undefined : problem}
          onChange={(celsius) => act({ do: 'row', key: row.key, part: { celsius } })}
          onEnter={onNext}
          onPaste={(text) => {
            if (readSetpoints(text).length < 2) return false
            onPaste(row.key, text)
            return true
          }}
        />
      </td>
      <td className="left">
        <Field
          compact
          label={`Label of setpoint ${n}`}
          value={row.label}
          onChange={(label) => act({ do: 'row', key: row.key, part: { label } })}
        />
      </td>
      <td className="left">
        <div className="setpoint-also">
          <Tick
            on={row.selfHeating}
            onChange={(selfHeating) => act({ do: 'row', key: row.key, part: { selfHeating } })}
            label={`Self-heating pair at setpoint ${n}`}
          >
            <span>pair</span>
          </Tick>
          <Tick
            on={row.exchange}
            onChange={(exchange) => act({ do: 'row', key: row.key, part: { exchange } })}
            label={`Exchange of places at setpoint ${n}`}
          >
            <span>exchange</span>
          </Tick>
          <Tick
            on={row.lift}
            onChange={(lift) => act({ do: 'row', key: row.key, part: { lift } })}
            label={`Lift by 20 mm at setpoint ${n}`}
          >
            <span>lift</span>
          </Tick>
        </div>
      </td>
      <td>
        <span className="row row-tight nowrap">
          <Button
            look="quiet"
            label={`Setpoint ${n} earlier`}
            disabled={n === 1}
            onPress={() => act({ do: 'move', key: row.key, by: -1 })}
          >
            ↑
          </Button>
          <Button
            look="quiet"
            label={`Setpoint ${n} later`}
            disabled={n === of}
            onPress={() => act({ do: 'move', key: row.key, by: 1 })}
          >
            ↓
          </Button>
          <Button
            look="quiet"
            label={`Remove setpoint ${n}`}
            disabled={of === 1}
            onPress={() => act({ do: 'remove', key: row.key })}
          >
            ×
          </Button>
        </span>
      </td>
    </tr>
  )
}
