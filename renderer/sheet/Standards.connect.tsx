import type { Bench } from '../../app/records/bench.ts'
import type { Register } from '../../app/records/register.ts'
import { goTo } from '../page/page.ts'
import { Button } from '../parts/Button.tsx'
import { EntryView } from '../register/EntryView.tsx'

/** The records that the results will stand on, each with its certificate. */
export function Standards({ bench, register }: { bench: Bench | null; register: Register | undefined }) {
  const channel = bench?.channels.find(({ role, enabled }) => role === 'reference' && enabled)
  const thermometer = register?.thermometers.find(({ id }) => id === channel?.thermometer)
  const resistorId = channel?.reference?.kind === 'resistor' ? channel.reference.resistor : undefined
  const resistor = register?.resistors.find(({ id }) => id === resistorId)
  return (
    <div className="stack">
      {!thermometer && (
        <p className="faint">
          Enter the reference thermometer and the reference resistor with their certificates in Register, or
          import a file of them there; then choose them at the reference channel of the bench.
        </p>
      )}
      <div className="row">
        <Button onPress={() => goTo('register', [])}>Thermometers in Register</Button>
        <Button onPress={() => goTo('register', ['resistors'])}>Resistors in Register</Button>
      </div>
      <div className="halves">
        {thermometer && (
          <EntryView
            shelf="thermometers"
            entry={thermometer}
            chart={null}
            locked={false}
            onEdit={() => goTo('register', ['thermometers', thermometer.id])}
            onLedger={() => goTo('register', ['ledger'])}
          />
        )}
        {resistor && (
          <EntryView
            shelf="resistors"
            entry={resistor}
            chart={null}
            locked={false}
            onEdit={() => goTo('register', ['resistors', resistor.id])}
            onLedger={() => goTo('register', ['ledger'])}
          />
        )}
      </div>
    </div>
  )
}
