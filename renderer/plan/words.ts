import { counted } from '../../app/base/plural.ts'
import type { BathSpec } from '../../app/records/bench.ts'
import type { Plan } from '../../app/records/plan.ts'
import { fixed } from '../text/numbers.ts'

/** What the bath will do, said before it does it: from, to, and through what. */

const degrees = (celsius: number): string => `${fixed(celsius, 1)} °C`

export function journeyWords(plan: Plan, bath: BathSpec | undefined, bathC: number | null): string {
  const temperatures = plan.setpoints.map((s) => s.celsius)
  const [first = 0, ...others] = temperatures
  const begin = `${bath ? `The bath ${bath.name}` : 'The bath'} goes from ${bathC === null ? 'where it stands now' : degrees(bathC)} to ${degrees(first)}`
  if (others.length === 0) return `${begin}, the only setpoint.`
  return `${begin}, then through ${counted(others.length, 'more setpoint')} between ${degrees(Math.min(...temperatures))} and ${degrees(Math.max(...temperatures))}.`
}

/** What a skip leads to. `nextC`: the setpoint that follows; null: there is none. */
export function skipWords(setpointC: number | null, nextC: number | null, safeC: number | null): string {
  const from = setpointC === null ? 'from where it stands' : `from ${degrees(setpointC)}`
  if (nextC !== null)
    return `No point is taken here. The bath goes ${from} to ${degrees(nextC)}, the next setpoint of the plan.`
  return `No point is taken here. It is the last setpoint: the plan ends, and the bath does what the plan says for its end${safeC === null ? '' : `, which is its safe setpoint of ${degrees(safeC)} unless it is to stay`}.`
}

export function stopWords(setpointC: number | null, safeC: number | null): string {
  const from = setpointC === null ? '' : `, from ${degrees(setpointC)}`
  const to = safeC === null ? '' : ` of ${degrees(safeC)}`
  return `Reading ends, the session is closed and the bath goes to its safe setpoint${to}${from}. What was taken is kept. A stopped session cannot be taken up again.`
}

/** A recording sets no bath, so stopping it leaves the bath alone. */
export const STOP_RECORDING_WORDS =
  'Reading ends and the session is closed. The bath is left as it is. What was recorded is kept.'
