import { chiSquaredQuantile } from './chi-squared.ts'

export interface WeightedMean {
  readonly mean: number
  /** One for each value; their sum is 1. */
  readonly weights: readonly number[]
  readonly u: number
  readonly chiSquared: number
  readonly degreesOfFreedom: number
  /** What chi-squared may be where the values agree. */
  readonly limit: number
  readonly consistent: boolean
}

/**
 * Weighted mean of values that are uncertain and hang together, and whether they agree.
 *
 *   w = V^-1 1 / (1' V^-1 1),  y = w' x,  u^2(y) = 1 / (1' V^-1 1),  chi^2 = (x - y)' V^-1 (x - y)
 *
 * Symbols  x the values, V their covariance, 1 a column of ones
 * Source   M. G. Cox, Metrologia 39 (2002) 589, procedure A, with the covariance of correlated values in place of the
 *          squares of the uncertainties (from memory)
 * Valid    at least one value, V positive definite; consistent: chi^2 at most the quantile of `probability`
 * Throws   RangeError where V is not positive definite
 */
export function weightedMean(
  values: readonly number[],
  covariance: readonly (readonly number[])[],
  probability = 0.95,
): WeightedMean {
  const ones = values.map(() => 1)
  const byOnes = solve(covariance, ones)
  const total = byOnes.reduce((sum, v) => sum + v, 0)
  const weights = byOnes.map((v) => v / total)
  // About the first value, so that temperatures a few microkelvin apart keep their digits.
  const first = values[0]!
  const mean = first + values.reduce((sum, v, i) => sum + weights[i]! * (v - first), 0)
  const off = values.map((v) => v - mean)
  const chiSquared = solve(covariance, off).reduce((sum, v, i) => sum + v * off[i]!, 0)
  const degreesOfFreedom = values.length - 1
  const limit =
    degreesOfFreedom === 0 ? Number.POSITIVE_INFINITY : chiSquaredQuantile(probability, degreesOfFreedom)
  return {
    mean,
    weights,
    u: Math.sqrt(1 / total),
    chiSquared,
    degreesOfFreedom,
    limit,
    consistent: chiSquared <= limit,
  }
}

/** Solves V x = b for a positive definite V by its Cholesky triangle. */
function solve(matrix: readonly (readonly number[])[], right: readonly number[]): number[] {
  const n = right.length
  const lower = Array.from({ length: n }, () => new Array<number>(n).fill(0))
  const out = [...right]
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i]![j]!
      for (let k = 0; k < j; k++) sum -= lower[i]![k]! * lower[j]![k]!
      if (i === j && !(sum > 0))
        throw new RangeError('The covariance of the values is not positive definite.')
      lower[i]![j] = i === j ? Math.sqrt(sum) : sum / lower[j]![j]!
    }
    for (let k = 0; k < i; k++) out[i] = out[i]! - lower[i]![k]! * out[k]!
    out[i] = out[i]! / lower[i]![i]!
  }
  for (let i = n - 1; i >= 0; i--) {
    for (let k = i + 1; k < n; k++) out[i] = out[i]! - lower[k]![i]! * out[k]!
    out[i] = out[i]! / lower[i]![i]!
  }
  return out
}
