import type { RunnerView } from '../../../app/contract/views.ts'
import { Button } from '../../parts/Button.tsx'
import { Choice } from '../../parts/Choice.tsx'
import { Field } from '../../parts/Field.tsx'
import { Problem } from '../../parts/Problem.tsx'
import { fixed } from '../../text/numbers.ts'
import { cellName } from './cells.model.ts'

type Cells = NonNullable<RunnerView['cells']>

interface BeginProps {
  channels: readonly { id: string; name: string }[]
  channel: string
  leastMin: string
  /** Why it cannot begin, in words. */
  missing: string | undefined
  working: boolean
  problem: string | undefined
  onChannel: (id: string) => void
  onLeast: (text: string) => void
  onBegin: () => void
}

/** The way to let the station lead through the sequence that is written above. */
export function BeginSequence(props: BeginProps) {
  const { channels, channel, missing, working, problem } = props
  return (
    <section className="sheet" aria-label="Run the sequence">
      <h3>Run it on the bench</h3>
      <p>
        The station asks for each cell, finds its plateau while it happens, compares R(0.01 °C) from one water
        to the next and ends in the coefficients. It goes on where it was after a restart.
      </p>
      <div className="row row-end">
        <Choice
          label="Channel of the thermometer"
          value={channel}
          options={channels}
          onChange={props.onChannel}
        />
        <Field
          label="Least length of a plateau"
          numeric
          unit="min"
          value={props.leastMin}
          onChange={props.onLeast}
        />
        <Button
          look="main"
          right="operate"
          onPress={props.onBegin}
          disabled={missing !== undefined || working}
        >
          Begin the sequence
        </Button>
      </div>
      {missing && <p className="faint">{missing}</p>}
      <Problem words={problem} />
    </section>
  )
}

interface GoingProps {
  cells: Cells
  words: string
  over: boolean
  working: boolean
  problem: string | undefined
  /** Puts the plateaus that were taken into the set below. */
  onSet: () => void
}

const withKeys = (steps: Cells['steps']) =>
  steps.map((step, i) => ({ ...step, key: `${i} ${step.fixedPoint}` }))

/** A sequence as the station runs it: which cell is next, in large, how its plateau stands, and what was taken. */
export function GoingSequence({ cells, words, over, working, problem, onSet }: GoingProps) {
  const next = cells.steps[cells.step]
  const taken = cells.steps.filter((step) => step.taken !== null).length
  return (
    <section className="sheet" aria-label="The running sequence">
      <h3>The running sequence</h3>
      <p className="sequence-next">
        {over || !next
          ? 'The sequence is over'
          : `Step ${cells.step + 1} of ${cells.steps.length}: ${cellName(next.fixedPoint)}`}
      </p>
      <p role="status">{cells.progress || words}</p>
      <ol aria-label="Steps of the running sequence">
        {withKeys(cells.steps).map(({ key, ...step }) => (
          <li key={key} aria-current={step.state === 'next' && !over ? 'step' : undefined}>
            <strong>{cellName(step.fixedPoint)}</strong>
            {step.taken
              ? ` ${fixed(step.taken.ohm, 6)} Ω`
              : step.state === 'taken'
                ? ' left out'
                : step.state === 'next' && !over
                  ? ' now'
                  : ''}
            {step.moved &&
              `: R(0.01 °C) moved ${fixed(step.moved.mk, 3)} mK, U ${fixed(step.moved.expandedMk, 3)} mK, ${step.moved.agrees ? 'within U' : 'beyond U'}`}
          </li>
        ))}
      </ol>
      {taken > 0 && (
        <div className="row">
          <Button onPress={onSet} disabled={working}>
            {working ? 'Reading the plateaus' : 'Put its plateaus into the set'}
          </Button>
        </div>
      )}
      <Problem words={problem} />
    </section>
  )
}
