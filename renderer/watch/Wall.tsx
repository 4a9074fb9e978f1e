import type { ReactNode } from 'react'
import type { ChannelView, RunnerView, SettlingView } from '../../app/contract/views.ts'
import { StillWater } from '../signs/StillWater.tsx'
import { fixed } from '../text/numbers.ts'
import { clockTime, duration } from '../text/times.ts'

interface Props {
  group: SettlingView
  runner: RunnerView
  channels: readonly ChannelView[]
  troubled: readonly ChannelView[]
  numbers: (channel: ChannelView) => ReactNode
  alarm: string | undefined
  nowUtcUs: number
  strip: ReactNode
  lost: string | undefined
  onLeave: () => void
}

const MOST_NUMBERS = 12

/** Watch without hands, to be read from the door. */
export function Wall(props: Props) {
  const { group, runner, channels, troubled, numbers, alarm, nowUtcUs, strip, lost } = props
  const crowded = channels.length > MOST_NUMBERS
  const shown = crowded
    ? channels.filter(({ role }) => role === 'reference' || role === 'check').slice(0, MOST_NUMBERS)
    : channels
  return (
    <main className={`wall wall-${Math.min(MOST_NUMBERS, shown.length)}${lost ? ' is-old' : ''}`}>
      <h1 className="unseen">Wall view</h1>
      <div className="wall-strip">{strip}</div>
      <div className="wall-head">
        <StillWater state={group.state} held={group.held} wide />
        <p className={alarm && !lost ? 'wall-words is-alarm' : 'wall-words'}>
          {lost ?? alarm ?? group.words}
        </p>
        <p className="wall-plan">
          {runner.setpointC !== null && <strong>{`${fixed(runner.setpointC, 2)} °C`}</strong>}
          {runner.step !== null && <span>{`setpoint ${runner.step + 1} of ${runner.steps}`}</span>}
          {runner.expectedEndUtcUs !== null && (
            <span>{`ends ${clockTime(runner.expectedEndUtcUs)}, in ${duration((runner.expectedEndUtcUs - nowUtcUs) / 1e6)}`}</span>
          )}
          <time>{clockTime(nowUtcUs)}</time>
        </p>
      </div>
      <ul className="wall-numbers">
        {shown.map((channel) => (
          <li key={channel.id} className={channel.settling.state === 'crossed' ? 'is-wrong' : ''}>
            <span className="wall-name">{channel.name}</span>
            {numbers(channel)}
            <StillWater
              state={channel.settling.state}
              held={channel.settling.held}
              still={shown.length > 6}
            />
          </li>
        ))}
      </ul>
      {crowded && (
        <p className="wall-rest">
          {troubled.length === 0
            ? `All ${channels.length} channels are settled.`
            : `${channels.length - troubled.length} of ${channels.length} settled. Not settled: ${troubled
                .slice(0, 6)
                .map(({ name }) => name)
                .join(', ')}${troubled.length > 6 ? ` and ${troubled.length - 6} more` : ''}.`}
        </p>
      )}
      <button type="button" className="wall-leave" onClick={props.onLeave}>
        Back to Watch <kbd>Esc</kbd>
      </button>
    </main>
  )
}
