import type { BenchLine } from '../../app/contract/calls-laboratory.ts'
import { celsiusWords } from '../../app/live/words.ts'
import type { BenchState } from '../../app/records/bench-state.ts'

const MINUTE_US = 60e6

/** What is left until an expected moment, in words: 'about 2 h 10 min'; undefined where nothing is expected. */
export function toGoWords(expectedEndUtcUs: number | null, nowUtcUs: number): string | undefined {
  if (expectedEndUtcUs === null) return undefined
  const minutes = Math.round((expectedEndUtcUs - nowUtcUs) / MINUTE_US)
  if (minutes < 1) return 'any minute now'
  const hours = Math.floor(minutes / 60)
  return `about ${hours > 0 ? `${hours} h ` : ''}${minutes % 60} min`
}

/** Setpoint and bath: '100 °C, bath at 99.87 °C'. */
export function bathWords({ setpointC, bathC }: Pick<BenchState, 'setpointC' | 'bathC'>): string | undefined {
  const bath = bathC === null ? undefined : `bath at ${celsiusWords(bathC)}`
  if (setpointC === null) return bath
  return [celsiusWords(setpointC), bath].filter(Boolean).join(', ')
}

const RANK = { alarm: 0, warning: 1, notice: 2 } as const

/** The graver of two ways a bench asks for somebody; 3: it does not. */
const urgency = ({ state, silent }: BenchLine): number =>
  silent ? 0 : Math.min(3, ...(state?.alarms ?? []).map(({ severity }) => RANK[severity]))

/** Own bench first, then who asks for somebody, then by name: a bench keeps its place while it is well. */
export const inOrder = (benches: readonly BenchLine[]): BenchLine[] =>
  benches.toSorted(
    (a, b) =>
      Number(b.own) - Number(a.own) ||
      Number(urgency(b) < 2) - Number(urgency(a) < 2) ||
      a.name.localeCompare(b.name),
  )
