import { useState } from 'react'
import type { ValidationLine, ValidationState } from '../../../app/contract/calls-validation.ts'
import { Button } from '../../parts/Button.tsx'
import { Field } from '../../parts/Field.tsx'
import { Problem } from '../../parts/Problem.tsx'
import { Tick } from '../../parts/Tick.tsx'

interface Props {
  state: ValidationState
  running: boolean
  problem: string | undefined
  onRun: () => void
  onAccept: (id: string, use: string) => void
  onSave: (line: ValidationLine, format: 'pdf' | 'html' | 'json') => void
  onRequired: ((on: boolean) => void) | undefined
}

/** How this program is known to compute right: run, read, accept. */
export function Validation({ state, running, problem, onRun, onAccept, onSave, onRequired }: Props) {
  const shown = state.accepted ?? state.last
  const open = state.last?.verdict === 'passed' && !state.last.accepted ? state.last : undefined
  return (
    <section className="sheet" aria-label="Validation">
      <h2>Validation</h2>
      <p>{state.words}</p>
      {shown && (
        <p className="faint">
          {`${shown.checks} checks with ${shown.figures} figures, ${shown.failed} not passed, on ${shown.platform}. Record ${shown.id}, SHA-256 ${shown.sha256.slice(0, 16)}.`}
        </p>
      )}
      <p className="faint">
        Every published figure that the program is held against is computed again here, and a night of the lab
        in a box is held against its hidden truth. It takes about a minute and needs a station without a
        session.
      </p>
      <div className="row">
        <Button right="administer" onPress={onRun} disabled={running}>
          {running ? `Running, ${Math.round(100 * (state.running?.done ?? 0))} %` : 'Validate this program'}
        </Button>
        {shown && (
          <>
            <Button look="quiet" label="Save the record as PDF" onPress={() => onSave(shown, 'pdf')}>
              PDF
            </Button>
            <Button look="quiet" label="Save the record as HTML" onPress={() => onSave(shown, 'html')}>
              HTML
            </Button>
            <Button look="quiet" label="Save the record as JSON" onPress={() => onSave(shown, 'json')}>
              JSON
            </Button>
          </>
        )}
      </div>
      {open && <Acceptance key={open.id} line={open} onAccept={onAccept} />}
      {onRequired && (
        <Tick on={state.required} onChange={onRequired}>
          A report is signed only with a validated and accepted program
        </Tick>
      )}
      <Problem words={problem} />
    </section>
  )
}

function Acceptance({ line, onAccept }: { line: ValidationLine; onAccept: Props['onAccept'] }) {
  const [use, setUse] = useState('')
  return (
    <>
      <Field
        label="Intended use that it is accepted for"
        about="Such as: comparison calibration of platinum thermometers from -40 °C to 250 °C."
        value={use}
        onChange={setUse}
      />
      <div>
        <Button
          right="authorise"
          look="main"
          disabled={use.trim() === ''}
          onPress={() => onAccept(line.id, use.trim())}
        >
          Accept this validation
        </Button>
      </div>
    </>
  )
}
