import type { CSSProperties, ReactNode } from 'react'
import { counted } from '../../app/base/plural.ts'
import { duration } from '../../app/base/times.ts'
import type { AlarmView, ChannelView, RunnerView, SettlingView } from '../../app/contract/views.ts'
import { StillWater } from '../signs/StillWater.tsx'
import { fixed } from '../text/numbers.ts'
import { clockTime } from '../text/times.ts'

interface Props {
  /** Which channels have their number shown; the rest is said in a sentence. */
  shown: readonly ChannelView[]
  columns: number
  /** Figures of the longest number, its unit included: decides how large all may be. */
  figures: number
  group: SettlingView
  runner: RunnerView
  channels: readonly ChannelView[]
  troubled: readonly ChannelView[]
  numbers: (channel: ChannelView) => ReactNode
  alarm: AlarmView | undefined
  nowUtcUs: number
  strip: ReactNode
  lost: string | undefined
  onLeave: () => void
}

/** Words beyond this many letters are set smaller, so that a long alarm leaves room for the numbers. */
const LONG_WORDS = 60

/** Watch without hands, to be read from the door. */
export function Wall(props: Props) {
  const { group, runner, channels, shown, troubled, numbers, alarm, nowUtcUs, strip, lost } = props
  const over = runner.phase === 'ended'
  const words = lost ?? alarm?.words ?? (over ? runner.words : group.words)
  const kinds = ['wall-words']
  // The colour of alarms is for alarms alone: a night that ended in order is calm.
  if (alarm?.severity === 'alarm' && !lost) kinds.push('is-alarm')
  if (words.length > LONG_WORDS) kinds.push('is-long')
  return (
    <main
      className={lost ? 'wall is-old' : 'wall'}
      style={{ '--columns': props.columns, '--figures': props.figures } as CSSProperties}
    >
      <h1 className="unseen">Wall view</h1>
      <div className="wall-strip">{strip}</div>
      <div className="wall-head">
        <StillWater state={lost ? 'broken' : group.state} held={lost ? 0 : group.held} wide />
        <div>
          <p className={kinds.join(' ')}>{words}</p>
          <p className="wall-plan">
            {runner.setpointC !== null && <strong>{`${fixed(runner.setpointC, 2)} °C`}</strong>}
            {runner.step !== null && <span>{`setpoint ${runner.step + 1} of ${runner.steps}`}</span>}
            {runner.expectedEndUtcUs !== null && (
              <span>{`ends ${clockTime(runner.expectedEndUtcUs)}, in ${duration((runner.expectedEndUtcUs - nowUtcUs) / 1e6)}`}</span>
            )}
          </p>
        </div>
        <time className="wall-time">{clockTime(nowUtcUs)}</time>
      </div>
      <ul className="wall-numbers">
        {shown.map((channel) => (
          <li key={channel.id} className={channel.settling.state === 'crossed' ? 'is-wrong' : ''}>
            <span className="wall-name" title={channel.name}>
              {channel.name}
            </span>
            {numbers(channel)}
            <StillWater
              state={channel.settling.state}
              held={channel.settling.held}
              still={shown.length > 6}
            />
          </li>
        ))}
      </ul>
      {shown.length < channels.length && (
        <p className="wall-rest">
          {over
            ? `${counted(channels.length, 'channel')}, done.`
            : troubled.length === 0
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
