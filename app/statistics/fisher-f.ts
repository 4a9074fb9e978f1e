import { said } from '../messages/said.ts'
import { chiSquaredQuantile, lnGamma } from './chi-squared.ts'
import { StatisticsError } from './errors.ts'
import { betaContinuedFraction } from './student-t.ts'

/**
 * Quantile of F: the value that the ratio of two estimates of one variance stays below with probability p.
 *
 *   1 - p = I_x(nu2/2, nu1/2),  x = nu2/(nu2 + nu1 F)
 *
 * Symbols  F ratio, nu1 degrees of freedom above, nu2 below (need not be whole; Infinity: the variance below is known);
 *          I the regularised incomplete beta function
 * Source   M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 26.6.2 and 26.5.8 (numbers from memory)
 * Valid    nu1 from 0.5 to a few hundred, nu2 > 0, p strictly between 0 and 1; to 1e-9 of the value
 * Throws   StatisticsError 'out-of-range' for nu2; RangeError as chiSquaredQuantile
 */
export function fQuantile(p: number, above: number, below: number): number {
  if (!(below > 0))
    throw new StatisticsError('out-of-range', said('degrees-of-freedom-not-positive', { dof: below }), {
      dof: below,
    })
  if (below > KNOWN_FROM) return chiSquaredQuantile(p, above) / above
  let [low, high] = [0, 1]
  while (upperTail(high, above, below) > 1 - p) high *= 2
  for (let i = 0; i < 200 && high - low > 1e-12 * high; i++) {
    const middle = (low + high) / 2
    if (upperTail(middle, above, below) > 1 - p) low = middle
    else high = middle
  }
  return (low + high) / 2
}

/** Degrees of freedom below from which on F and chi-squared are the same to more digits than anybody has of them. */
const KNOWN_FROM = 1e5

function upperTail(f: number, above: number, below: number): number {
  const x = below / (below + above * f)
  const [a, b] = [below / 2, above / 2]
  const front = Math.exp(lnGamma(a + b) - lnGamma(a) - lnGamma(b) + a * Math.log(x) + b * Math.log1p(-x))
  if (x < (a + 1) / (a + b + 2)) return (front * betaContinuedFraction(x, a, b)) / a
  return 1 - (front * betaContinuedFraction(1 - x, b, a)) / b
}
