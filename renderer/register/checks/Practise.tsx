import { Button } from '../../parts/Button.tsx'
import { Problem } from '../../parts/Problem.tsx'
import type { CheckPage } from './guides.ts'

interface Props {
  page: CheckPage
  working: boolean
  running: boolean
  problem: string | undefined
  onPractise: (what: 'cells' | 'bridge') => void
}

/** Records to try a check on, where no cell and no bridge is at hand. */
export function Practise({ page, working, running, problem, onPractise }: Props) {
  if (page === 'wtp') return null
  const what = page === 'fixed-points' ? 'cells' : 'bridge'
  return (
    <section className="practise" aria-label="To practise">
      <h3>To practise</h3>
      <p>
        {what === 'cells'
          ? 'The lab in a box melts and freezes cells of water, gallium, indium, tin and zinc with one thermometer in them, and puts the five records into the archive. They are marked as its own.'
          : 'The lab in a box measures a box of three resistors in all combinations, two resistors both ways round, and a working resistor against a better one, and puts the record into the archive. It is marked as its own.'}
      </p>
      <div className="row">
        <Button onPress={() => onPractise(what)} disabled={working || running}>
          {what === 'cells' ? 'Record five cells to practise on' : 'Record a bridge to practise on'}
        </Button>
        {working && (
          <span className="faint" role="status">
            {what === 'cells' ? 'Recording; about a minute' : 'Recording; some seconds'}
          </span>
        )}
        {running && <span className="faint">When the session that runs has ended.</span>}
      </div>
      <Problem words={problem} />
    </section>
  )
}
