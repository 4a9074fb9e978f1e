import type { Bench } from '../records/bench.ts'
import type { Plan } from '../records/plan.ts'
import type { Point } from '../records/point.ts'

/** How many times the settling limits a point may show before the bath counts as moving; common practice, no source. */
const DRIFT_TIMES = 2
const SPREAD_TIMES = 3
const BAND_TIMES = 1.5

/**
 * What speaks against a point just taken, in words: a channel without readings, one that repeats itself, one that lost most
 * of its readings; and, where it was settled before, a reference that shows that the bath did not stay so.
 */
export function pointDoubts(point: Point, bench: Bench, plan: Plan): string[] {
  const { driftMkPerMin, spreadMk, bandK } = plan.settling
  const doubts: string[] = []
  for (const channel of bench.channels) {
    if (!channel.enabled || channel.role === 'monitor') continue
    const taken = point.channels.find((c) => c.channel === channel.id)
    if (!taken) {
      doubts.push(`${channel.name} has no reading that counts`)
      continue
    }
    if (taken.marks.includes('stuck')) doubts.push(`${channel.name} repeats the same value`)
    if (taken.leftOut > taken.n) doubts.push(`${channel.name} lost most of its readings`)
    if (!point.settled || channel.role !== 'reference') continue
    // A point is short: only a drift that its own noise cannot explain speaks against it.
    const drift = Math.abs(taken.driftMkPerMin ?? 0)
    const noise = 2 * drift * Math.abs(taken.uRawDriftPerS / taken.rawDriftPerS || 0)
    if (drift - noise > DRIFT_TIMES * driftMkPerMin) doubts.push('the bath drifted meanwhile')
    else if ((taken.sdMk ?? 0) > SPREAD_TIMES * spreadMk) doubts.push('the bath was restless meanwhile')
    const off = Math.abs((taken.t90C ?? point.setpointC) - point.setpointC)
    if (off > BAND_TIMES * bandK) doubts.push('the bath left the band meanwhile')
  }
  return doubts
}
