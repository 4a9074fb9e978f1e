import type { RunnerView, SettlingView } from '../../app/contract/views.ts'
import type { RunAct } from '../desk/run.store.ts'
import { Button } from '../parts/Button.tsx'
import { StillWater } from '../signs/StillWater.tsx'

interface Props {
  runner: RunnerView
  group: SettlingView
  /** What runs is a look at the bench. */
  look: boolean
  onAct: (act: RunAct) => void
  onResume: () => void
  onRecord: () => void
}

/** The running session in a line, and the hands of whoever is there. */
export function RunBand({ runner, group, look, onAct, onResume, onRecord }: Props) {
  const paused = runner.phase === 'paused'
  const planned = runner.steps > 0
  if (look)
    return (
      <section className="run-band" aria-label="The look at the bench">
        <StillWater state={group.state} held={group.held} />
        <p className="run-words">{runner.words}</p>
        <div className="row row-tight">
          <Button onPress={onRecord}>Record without a plan</Button>
          <Button onPress={() => onAct('stop')}>Stop looking</Button>
        </div>
      </section>
    )
  return (
    <section className="run-band" aria-label="The running session">
      <StillWater state={group.state} held={group.held} />
      <p className="run-words" title={runner.words}>
        {runner.words}
      </p>
      <div className="row row-tight">
        {planned && (
          <>
            {paused ? (
              <Button right="operate" look="main" onPress={onResume}>
                Go on
              </Button>
            ) : (
              <Button right="operate" onPress={() => onAct('pause')}>
                Pause
              </Button>
            )}
            <Button right="operate" onPress={() => onAct('takeNow')}>
              Take the point now
            </Button>
            <Button right="operate" onPress={() => onAct('skip')}>
              Skip this setpoint
            </Button>
          </>
        )}
        <Button right="operate" onPress={() => onAct('note')}>
          Write a note
        </Button>
        <Button right="operate" look="danger" onPress={() => onAct('stop')}>
          Stop
        </Button>
      </div>
    </section>
  )
}
