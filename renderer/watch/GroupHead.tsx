import type { ReactNode } from 'react'
import { duration } from '../../app/base/times.ts'
import type { RunnerView, SettlingView } from '../../app/contract/views.ts'
import { StillWater } from '../signs/StillWater.tsx'
import { fixed } from '../text/numbers.ts'
import { clockTime } from '../text/times.ts'

interface Props {
  group: SettlingView
  runner: RunnerView
  nowUtcUs: number
  running: boolean
  /** Why what is on show is old; undefined while it is not. */
  lost: string | undefined
  /** What comes after a session that has ended. */
  after: ReactNode
}

/** The first look: is the bath still, and is the night on plan. */
export function GroupHead({ group, runner, nowUtcUs, running, lost, after }: Props) {
  return (
    <div className="group-head">
      {running && lost === undefined && <StillWater state={group.state} held={group.held} wide />}
      <div>
        <p className="group-words">
          {lost !== undefined
            ? lost
            : running
              ? group.words
              : runner.phase === 'ended'
                ? runner.words
                : 'Nothing is being recorded.'}
        </p>
        {!running && lost === undefined && after}
        <p className="group-plan">
          {running && runner.bathC !== null && <span>{`Bath ${fixed(runner.bathC, 2)} °C`}</span>}
          {running && runner.expectedEndUtcUs !== null && (
            <span>{`Ends about ${clockTime(runner.expectedEndUtcUs)}, in ${duration((runner.expectedEndUtcUs - nowUtcUs) / 1e6)}`}</span>
          )}
        </p>
      </div>
    </div>
  )
}
