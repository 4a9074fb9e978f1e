import { median } from '../statistics/centre.ts'
import type { EarlierNight } from './earlier-night.ts'
import { type Pace, USUAL_PACE } from './estimate.ts'

/** The pace of a night by the nights before it on the same bench; what none of them has shown is as usual. */
export function paceOf(nights: readonly EarlierNight[]): Pace {
  const acts = median(nights.flatMap((n) => n.actsS))
  return {
    ...USUAL_PACE,
    steps: nights.flatMap((n) => n.steps),
    takes: {
      plain: median(nights.flatMap((n) => n.slower)) ?? 1,
      withPairs: median(nights.flatMap((n) => n.slowerWithPairs)) ?? 1,
    },
    ...(acts !== null && { actS: acts }),
  }
}
