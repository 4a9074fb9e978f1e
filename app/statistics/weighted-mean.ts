import { first } from '../base/lists.ts'
import { chiSquaredQuantile } from './chi-squared.ts'
import { lowerTriangle, type Matrix, solveLower, solveLowerTransposed } from './cholesky.ts'
import { dot } from './vectors.ts'

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
  covariance: Matrix,
  probability = 0.95,
): WeightedMean {
  const ones = values.map(() => 1)
  const byOnes = solve(covariance, ones)
  const total = byOnes.reduce((sum, v) => sum + v, 0)
  const weights = byOnes.map((v) => v / total)
  // About the first value, so that temperatures a few microkelvin apart keep their digits.
  const origin = first(values)
  const mean =
    origin +
    dot(
      weights,
      values.map((v) => v - origin),
    )
  const off = values.map((v) => v - mean)
  const chiSquared = dot(solve(covariance, off), off)
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
function solve(matrix: Matrix, right: readonly number[]): number[] {
  const lower = lowerTriangle(matrix, {
    pivot: (left) => {
      if (!(left > 0)) throw new RangeError('The covariance of the values is not positive definite.')
      return Math.sqrt(left)
    },
  })
  return solveLowerTransposed(lower, solveLower(lower, right))
}
