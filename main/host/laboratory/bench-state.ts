import type { StationState } from '../../../app/contract/views.ts'
import type { Bench } from '../../../app/records/bench.ts'
import type { BenchState } from '../../../app/records/bench-state.ts'

const MOST_ALARMS = 5
const GRAVITY = { alarm: 0, warning: 1, notice: 2 } as const
const CENTI = 100
/** An expected end that moves by less is the same one, us. */
const END_STEP_US = 60e6

const rounded = (celsius: number | null) => (celsius === null ? null : Math.round(celsius * CENTI) / CENTI)

/** What a bench tells the others of itself: coarse enough that a bench at rest tells nothing. */
export function benchState(
  { runner, group, session, alarms, bench }: StationState,
  running: { operator: string; bench: Bench } | undefined,
): BenchState {
  const active = alarms
    .filter((alarm) => alarm.active)
    .toSorted((a, b) => GRAVITY[a.severity] - GRAVITY[b.severity])
  const inUse = (running?.bench.channels ?? [])
    .filter(({ enabled }) => enabled)
    .flatMap(({ thermometer, reference }) => [
      thermometer,
      reference?.kind === 'resistor' ? reference.resistor : undefined,
    ])
  const end = runner.expectedEndUtcUs
  return {
    words: bench === null ? 'No bench has been set up.' : runner.words.slice(0, 500),
    phase: runner.phase,
    water: session ? group.state : 'over',
    session: session && !session.look ? session.name.slice(0, 200) : null,
    responsible: session && !session.look ? (running?.operator.slice(0, 200) ?? null) : null,
    setpointC: runner.setpointC,
    bathC: rounded(runner.bathC),
    expectedEndUtcUs: session && end !== null ? Math.round(end / END_STEP_US) * END_STEP_US : null,
    alarms: active
      .slice(0, MOST_ALARMS)
      .map(({ severity, words }) => ({ severity, words: words.slice(0, 500) })),
    moreAlarms: Math.max(0, active.length - MOST_ALARMS),
    inUse: [...new Set(inUse)].filter((id) => id !== undefined).slice(0, 200),
  }
}
