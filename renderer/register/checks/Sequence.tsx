import type { SequenceState } from '../../../app/checks/cell-sequence.ts'
import { Field } from '../../parts/Field.tsx'
import { fixed } from '../../text/numbers.ts'
import { cellName } from './cells.model.ts'

interface Props {
  text: string
  /** Why the text is no sequence, in words. */
  problem: string | undefined
  state: SequenceState | undefined
  onText: (text: string) => void
}

const STATE_WORDS = { taken: 'taken', next: 'next', later: '' } as const

const withKeys = (steps: SequenceState['steps']) =>
  steps.map((step, i) => ({ ...step, key: `${i} ${step.fixedPoint}` }))

/** The order of cells that a thermometer goes through: what is taken, what is next, and whether R(0.01 °C) stood still. */
export function Sequence({ text, problem, state, onText }: Props) {
  return (
    <section className="sheet" aria-label="The sequence">
      <h3>The sequence</h3>
      <Field
        label="Cells in their order"
        value={text}
        problem={problem}
        about="Such as WTP, Zn, WTP, Sn, WTP. Left empty, plateaus may come in any order."
        onChange={onText}
      />
      {state && (
        <>
          <ol aria-label="Steps of the sequence">
            {withKeys(state.steps).map(({ key, ...step }) => (
              <li key={key} aria-current={step.state === 'next' ? 'step' : undefined}>
                <strong>{cellName(step.fixedPoint)}</strong>
                {` ${STATE_WORDS[step.state]}`}
                {step.moved &&
                  `: R(0.01 °C) moved ${fixed(step.moved.mk, 3)} mK, U ${fixed(step.moved.expandedMk, 3)} mK, ${step.moved.agrees ? 'within U' : 'beyond U'}`}
              </li>
            ))}
          </ol>
          <p role="status">{state.words}</p>
        </>
      )}
    </section>
  )
}
