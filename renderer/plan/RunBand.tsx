import type { RunnerView, SettlingView } from '../../app/contract/views.ts'
import { Button } from '../parts/Button.tsx'
import { StillWater } from '../signs/StillWater.tsx'
import type { RunAct } from './run.store.ts'

interface Props {
  runner: RunnerView
  group: SettlingView
  onAct: (act: RunAct) => void
  onResume: () => void
}

/** The running night and what a person may do to it. */
export function RunBand({ runner, group, onAct, onResume }: Props) {
  const paused = runner.phase === 'paused'
  const planned = runner.steps > 0
  return (
    <section className="sheet run-band" aria-label="The running session">
      <div className="row row-apart">
        <div className="row">
          <StillWater state={group.state} held={group.held} wide />
          <div>
            <p className="group-words">{runner.words}</p>
            <p className="faint">{group.words}</p>
          </div>
        </div>
        <div className="row">
          {planned && (
            <>
              {paused ? (
                <Button look="main" onPress={onResume}>
                  Go on
                </Button>
              ) : (
                <Button onPress={() => onAct('pause')}>Pause</Button>
              )}
              <Button onPress={() => onAct('takeNow')}>Take the point now</Button>
              <Button onPress={() => onAct('skip')}>Skip this setpoint</Button>
            </>
          )}
          <Button onPress={() => onAct('note')}>Write a note</Button>
          <Button look="danger" onPress={() => onAct('stop')}>
            Stop
          </Button>
        </div>
      </div>
    </section>
  )
}
