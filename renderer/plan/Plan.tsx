import type { ReactNode } from 'react'
import { counted } from '../../app/base/plural.ts'
import type { Plan } from '../../app/records/plan.ts'
import { Button } from '../parts/Button.tsx'
import { Field } from '../parts/Field.tsx'

interface Props {
  plans: readonly Plan[]
  chosen: string
  name: string
  nameProblem: string | undefined
  changed: boolean
  canUndo: boolean
  canRedo: boolean
  setpoints: ReactNode
  rules: ReactNode
  preview: ReactNode
  start: ReactNode
  onName: (name: string) => void
  onChoose: (id: string) => void
  onNew: () => void
  onSave: () => void
  onRemove: () => void
  onUndo: () => void
  onRedo: () => void
}

/** What to take tonight. */
export function PlanPanel(props: Props) {
  return (
    <div className="desk" data-desk="plan">
      <div className="plan">
        <nav className="pick" aria-label="Plans">
          {props.plans.map((plan) => (
            <button
              key={plan.id}
              type="button"
              aria-current={plan.id === props.chosen}
              onClick={() => props.onChoose(plan.id)}
            >
              <span>{plan.name}</span>
              <small>{counted(plan.setpoints.length, 'setpoint')}</small>
            </button>
          ))}
          <Button right="operate" onPress={props.onNew}>
            New plan
          </Button>
        </nav>
        <div className="stack">
          <div className="row row-end row-apart">
            <div className="plan-name">
              <Field
                label="Name of the plan"
                value={props.name}
                problem={props.nameProblem}
                onChange={props.onName}
              />
            </div>
            <div className="row">
              <Button look="quiet" onPress={props.onUndo} disabled={!props.canUndo}>
                Undo
              </Button>
              <Button look="quiet" onPress={props.onRedo} disabled={!props.canRedo}>
                Redo
              </Button>
              <Button right="operate" look="quiet" onPress={props.onRemove}>
                Remove
              </Button>
              <Button right="operate" onPress={props.onSave} disabled={!props.changed}>
                Save
              </Button>
            </div>
          </div>
          <div className="halves">
            <div className="stack">
              {props.setpoints}
              {props.rules}
            </div>
            <div className="stack">
              {props.preview}
              {props.start}
            </div>
          </div>
        </div>
      </div>
    </div>
  )
}
