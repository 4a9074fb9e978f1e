import { Button } from '../../parts/Button.tsx'
import { Choice } from '../../parts/Choice.tsx'
import { Problem } from '../../parts/Problem.tsx'
import { StretchPlot } from './StretchPlot.tsx'
import type { SessionChoice } from './sessions.connect.tsx'

interface Props {
  sessions: readonly SessionChoice[]
  session: string
  channels: readonly { id: string; name: string }[]
  wanted: readonly { label: string; channel: string }[]
  x: readonly number[]
  y: readonly number[]
  stretch: { from: number; to: number } | undefined
  working: boolean
  problem: string | undefined
  onSession: (id: string) => void
  onChannel: (i: number, id: string) => void
  onStretch: (from: number, to: number) => void
  onTake: () => void
  onTakeAll: (() => void) | undefined
}

/** Which record the ratios come from, and which stretch of it. */
export function FromSession(props: Props) {
  const { sessions, session, channels, wanted, x, y, stretch, onTakeAll } = props
  if (sessions.length === 0)
    return <p className="faint">No session has been recorded yet whose ratios could be taken.</p>
  const whole = { from: x[0] ?? 0, to: x.at(-1) ?? 1 }
  const middle = y.reduce((sum, v) => sum + v, 0) / Math.max(1, y.length)
  return (
    <details className="from-session">
      <summary>Take ratios from a recorded session</summary>
      <div className="stack">
        <div className="fields wide-fields">
          <Choice label="Session" value={session} options={sessions} onChange={props.onSession} />
          {!onTakeAll &&
            wanted.map(({ label, channel }, i) => (
              <Choice
                key={label}
                label={label}
                value={channel}
                options={channels}
                onChange={(id) => props.onChannel(i, id)}
              />
            ))}
        </div>
        {x.length > 1 && (
          <StretchPlot
            label="Ratios of the session with the stretch that is taken"
            x={x}
            y={y.map((v) => (v - middle) * 1e9)}
            yTitle="From the mean / 10⁻⁹"
            height={220}
            stretch={stretch ?? whole}
            onStretch={props.onStretch}
          />
        )}
        <Problem words={props.problem} />
        <div className="row">
          {onTakeAll ? (
            <Button onPress={onTakeAll} disabled={props.working}>
              Take every combination of this stretch
            </Button>
          ) : (
            <Button onPress={props.onTake} disabled={props.working || channels.length === 0}>
              Take the mean of this stretch
            </Button>
          )}
          <span className="faint">Its uncertainty is that of the mean, type A.</span>
        </div>
      </div>
    </details>
  )
}
