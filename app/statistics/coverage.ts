import { said } from '../messages/said.ts'
import { StatisticsError } from './errors.ts'
import { normalUpperTail } from './normal.ts'
import { tUpperQuantile } from './student-t.ts'

/** The three fractions that the t table prints in short and means exactly: 1, 2 and 3 standard deviations. */
const EXACT_SIGMAS = new Map([
  [68.27, 1],
  [95.45, 2],
  [99.73, 3],
])

/**
 * Half of the probability left outside a two-sided coverage interval.
 *
 * 0.6827, 0.9545 and 0.9973 stand for exactly one, two and three standard deviations of the normal
 * distribution. A value above 1 is taken as per cent.
 *
 * Symbols  p coverage probability, 0.95 or 95 alike; result (1 − p)/2
 * Source   JCGM 100:2008, table G.2 with its note on the fractions of 1, 2 and 3 standard deviations
 * Valid    0 < p < 1, or 1 < p < 100 in per cent
 * Throws   StatisticsError 'out-of-range'
 */
export function tailOfCoverage(coverage: number): number {
  const percent = coverage > 1 ? coverage : coverage * 100
  if (!(percent > 0 && percent < 100)) {
    throw new StatisticsError('out-of-range', said('coverage-out-of-range', { coverage }), { coverage })
  }
  const sigmas = EXACT_SIGMAS.get(Number(percent.toFixed(9)))
  if (sigmas !== undefined) return normalUpperTail(sigmas)
  return coverage > 1 ? (100 - coverage) / 200 : (1 - coverage) / 2
}

/**
 * Coverage probability as a fraction, with 0.6827, 0.9545 and 0.9973 made exact.
 *
 * Symbols  p coverage probability
 * Source   JCGM 100:2008, table G.2
 * Valid    0 < p < 1, or 1 < p < 100 in per cent
 * Throws   StatisticsError 'out-of-range'
 */
export function exactCoverage(coverage: number): number {
  return 1 - 2 * tailOfCoverage(coverage)
}

/**
 * Effective degrees of freedom as the t table is entered: truncated to the next lower integer.
 *
 * It is read to two decimals first, so that a sum that comes out a hair below a whole number counts as that
 * number: 18.9987 is the 19.0 of the guide's own example, 16.75 is 16.
 *
 * Symbols  ν_eff effective degrees of freedom
 * Source   JCGM 100:2008, G.4.1 with its example and note 1 (place of the sentence from memory)
 * Valid    ν_eff > 0; below 1 it stays as it is, since no lower integer has a t
 * Throws   nothing
 */
export function truncatedDegreesOfFreedom(effective: number): number {
  if (!Number.isFinite(effective)) return effective
  const whole = Math.floor(effective + 0.005)
  return whole < 1 ? effective : whole
}

/**
 * Coverage factor k = t_p(ν) of a two-sided interval.
 *
 *   k = t_p(⌊ν_eff⌋)
 *
 * Symbols  p coverage probability; ν degrees of freedom (Infinity: the normal distribution)
 * Source   JCGM 100:2008, G.3.4, G.4.1 and table G.2
 * Valid    0 < p < 1 (or per cent), ν > 0
 * Throws   StatisticsError 'out-of-range'
 */
export function coverageFactor(coverage: number, degreesOfFreedom = Number.POSITIVE_INFINITY): number {
  const tail = tailOfCoverage(coverage)
  if (degreesOfFreedom === Number.POSITIVE_INFINITY) {
    for (const sigmas of EXACT_SIGMAS.values()) if (tail === normalUpperTail(sigmas)) return sigmas
  }
  const dof = truncatedDegreesOfFreedom(degreesOfFreedom)
  // A budget asks for the same few again at every point of a curve.
  const known = asked.get(tail)?.get(dof)
  if (known !== undefined) return known
  const k = tUpperQuantile(tail, dof)
  if (asked.size > MOST_ASKED) asked.clear()
  const own = asked.get(tail) ?? new Map<number, number>()
  if (own.size > MOST_ASKED) own.clear()
  asked.set(tail, own.set(dof, k))
  return k
}

/** Factors found so far, by tail and degrees of freedom, and how many of each are kept. */
const asked = new Map<number, Map<number, number>>()
const MOST_ASKED = 1000
