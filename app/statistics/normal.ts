import { said } from '../messages/said.ts'
import { StatisticsError } from './errors.ts'

const SQRT_2PI = Math.sqrt(2 * Math.PI)

/**
 * Probability density of the standard normal distribution.
 *
 *   φ(z) = exp(−z²/2) / √(2π)
 *
 * Symbols  z number of standard deviations, dimensionless
 * Source   Abramowitz and Stegun, Handbook of Mathematical Functions, 26.2.1
 * Valid    every real z
 * Throws   nothing
 */
export function normalDensity(z: number): number {
  return Math.exp(-0.5 * z * z) / SQRT_2PI
}

/**
 * Upper tail probability of the standard normal distribution, without loss of digits far out.
 *
 *   Q(z) = 1 − Φ(z)
 *
 * Near the middle by the series 26.2.11, farther out by the continued fraction 26.2.14, evaluated
 * from its tail inwards.
 *
 * Symbols  z number of standard deviations; Q probability
 * Source   Abramowitz and Stegun, Handbook of Mathematical Functions, 26.2.11 and 26.2.14
 * Valid    every real z; relative error about 1e-15 down to Q = 1e-300
 * Throws   nothing
 */
export function normalUpperTail(z: number): number {
  if (Number.isNaN(z)) return Number.NaN
  if (z < 0) return 1 - normalUpperTail(-z)
  if (z === Number.POSITIVE_INFINITY) return 0
  if (z < 1.25) {
    let term = z
    let sum = z
    for (let k = 1; k < 200; k++) {
      term *= (z * z) / (2 * k + 1)
      sum += term
      if (term < 1e-18 * sum) break
    }
    return 0.5 - normalDensity(z) * sum
  }
  let tail = 0
  for (let k = Math.ceil(40 + 500 / (z * z)); k >= 1; k--) tail = k / (z + tail)
  return normalDensity(z) / (z + tail)
}

/**
 * Distribution function of the standard normal distribution.
 *
 *   Φ(z) = ∫₋∞ᶻ φ
 *
 * Symbols  z number of standard deviations; Φ probability
 * Source   Abramowitz and Stegun, Handbook of Mathematical Functions, 26.2.2
 * Valid    every real z
 * Throws   nothing
 */
export function normalCdf(z: number): number {
  return z > 0 ? 1 - normalUpperTail(z) : normalUpperTail(-z)
}

/**
 * The z that leaves the probability q above it.
 *
 * A rational first guess, then Newton steps on ln Q, which is nearly a parabola and never overshoots far.
 *
 * Symbols  q upper tail probability; result in standard deviations
 * Source   Abramowitz and Stegun, Handbook of Mathematical Functions, 26.2.23 (first guess)
 * Valid    0 ≤ q ≤ 1; q = 0 gives infinity, q = 1 minus infinity
 * Throws   StatisticsError 'out-of-range'
 */
export function normalUpperQuantile(q: number): number {
  if (!(q >= 0 && q <= 1)) {
    throw new StatisticsError('out-of-range', said('probability-out-of-range', { q }), { q })
  }
  if (q === 0) return Number.POSITIVE_INFINITY
  if (q === 0.5) return 0
  if (q > 0.5) return -normalUpperQuantile(1 - q)
  const t = Math.sqrt(-2 * Math.log(q))
  const above = 2.515517 + t * (0.802853 + t * 0.010328)
  const below = 1 + t * (1.432788 + t * (0.189269 + t * 0.001308))
  let z = t - above / below
  for (let step = 0; step < 6; step++) {
    const tail = normalUpperTail(z)
    const change = (Math.log(tail / q) * tail) / normalDensity(z)
    z += change
    if (Math.abs(change) < 1e-15 * Math.abs(z)) break
  }
  return z
}

/**
 * Quantile of the standard normal distribution.
 *
 *   Φ(z) = p
 *
 * Symbols  p probability below z; result in standard deviations
 * Source   Abramowitz and Stegun, Handbook of Mathematical Functions, 26.2.5
 * Valid    0 ≤ p ≤ 1
 * Throws   StatisticsError 'out-of-range'
 */
export function normalQuantile(p: number): number {
  return -normalUpperQuantile(p)
}
