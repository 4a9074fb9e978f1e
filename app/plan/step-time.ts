import type { SettlingRule } from '../records/plan.ts'
import { median } from '../statistics/centre.ts'

/** One change of the setpoint that a bath has gone through, until it counted as settled. */
export interface SeenStep {
  readonly fromC: number
  readonly toC: number
  /** From the new setpoint until the rule held, s. */
  readonly tookS: number
  readonly rule: SettlingRule
  /** Of that, until it was within half a kelvin of where it stopped, s; null where the readings do not tell. */
  readonly travelS: number | null
  /** Time in which what is left of a deviation falls to 1/e, s; null where the readings do not tell. */
  readonly timeConstantS: number | null
}

/** A bath that nobody has seen: s for each kelvin on the way, s until the drift has died down; common practice, no source. */
const USUAL = { perKelvinS: 20, restS: 900 }
/** One standard deviation of how far a bath may be from that, and of one step from the others, as a part or in s. */
const APART = { part: 1, stepPart: 0.1, restS: 600, stepS: 250 }
/** Steps tell of one another while their ends are this near, K. */
const NEAR_K = 40

interface Weighed {
  readonly value: number
  readonly weight: number
}

/** Mean of what was seen, with what is usual as one more observation of its own weight. */
function meanWith(usual: Weighed, seen: readonly Weighed[]): number {
  const all = [usual, ...seen]
  const total = all.reduce((sum, s) => sum + s.weight, 0)
  return all.reduce((sum, s) => sum + s.weight * s.value, 0) / total
}

/** What a step took on its way and window and hold time apart, s, had the rule been another one: a drift dies down exponentially. */
function restOf(step: SeenStep, wayS: number, rule: SettlingRule, timeConstantS: number): number {
  const before = step.tookS - wayS - step.rule.windowS - step.rule.holdS
  return before + timeConstantS * Math.log(step.rule.driftMkPerMin / rule.driftMkPerMin)
}

/**
 * How long a step will take from the new setpoint until the rule holds, s, by steps that the same bath went through in the same
 * direction; null where it has gone through none.
 *
 *   t = d r + a + window + hold
 *
 * Symbols: d length of the step, K; r time for a kelvin, a rest until the drift has died down: means over the steps seen, weighted
 * by how near their ends are; the usual bath stands as one more of them, so that few steps do not run away. Source: common
 * practice, no source; weighted mean as in JCGM 100:2008, 4.2.4 and H.3.
 */
export function stepTimeS(
  steps: readonly SeenStep[],
  fromC: number,
  toC: number,
  rule: SettlingRule,
): number | null {
  const direction = Math.sign(toC - fromC)
  const like = steps.filter((s) => Math.sign(s.toC - s.fromC) === direction)
  if (like.length === 0) return null
  const timeConstantS = median(steps.flatMap((s) => s.timeConstantS ?? [])) ?? 0
  const nearness = (s: SeenStep, at: number) => Math.exp(-(((at - (s.fromC + s.toC) / 2) / NEAR_K) ** 2) / 2)
  const wayOf = (s: SeenStep) =>
    s.travelS ??
    Math.min(Math.abs(s.toC - s.fromC) * USUAL.perKelvinS, s.tookS - s.rule.windowS - s.rule.holdS)
  const perKelvinS = meanWith(
    { value: USUAL.perKelvinS, weight: (APART.stepPart / APART.part) ** 2 },
    // A longer way tells its pace better.
    like.map((s) => {
      const distance = Math.abs(s.toC - s.fromC)
      const longer = Math.min(1, distance / 20) ** 2
      return { value: wayOf(s) / Math.max(1, distance), weight: longer * nearness(s, (fromC + toC) / 2) }
    }),
  )
  const restS = meanWith(
    { value: USUAL.restS, weight: (APART.stepS / APART.restS) ** 2 },
    like.map((s) => ({
      value: restOf(s, wayOf(s), rule, timeConstantS),
      weight: nearness(s, (fromC + toC) / 2),
    })),
  )
  return Math.abs(toC - fromC) * perKelvinS + Math.max(0, restS) + rule.windowS + rule.holdS
}
