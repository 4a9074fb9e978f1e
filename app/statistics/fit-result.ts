import { at } from '../base/lists.ts'
import { counted } from '../base/plural.ts'
import { said } from '../messages/said.ts'
import { StatisticsError } from './errors.ts'

export interface LeastSquaresOptions {
  /** One name for each column, for the words of a refusal; x1, x2 ... unless told. */
  readonly columnNames?: readonly string[]
  /**
   * 'relative' (unless told): weights are right up to a common factor, and the residuals say how large
   * it is. 'absolute': a weight is 1/u² of its point, and the covariance follows from the weights alone.
   */
  readonly weightsAre?: 'relative' | 'absolute'
  /** Whether R² is taken about the mean; found from a constant column unless told. */
  readonly aboutMean?: boolean
  /** Take every number as the decimal it prints as, not as the nearest double: for data read from text. */
  readonly decimal?: boolean
}

export interface LeastSquaresFit {
  readonly coefficients: number[]
  readonly covariance: number[][]
  readonly standardUncertainties: number[]
  /** y − fit, in the unit of y. */
  readonly residuals: Float64Array
  /** √(χ²/ν), with the weights; NaN where ν is 0. */
  readonly residualSd: number
  readonly rSquared: number
  /** Σ w r². */
  readonly chiSquared: number
  readonly degreesOfFreedom: number
  /** Diagonal of the projection onto the columns; they sum to the number of coefficients. */
  readonly leverages: Float64Array
  /** What each residual would be if its point had not taken part; NaN where a coefficient rests on the point alone. */
  readonly leaveOneOutResiduals: Float64Array
  /** Condition number of the columns scaled to unit length. */
  readonly condition: number
}

/**
 * Refuses a list whose length is not that of y.
 *
 * Symbols  found, n lengths
 * Source   none (check of the arguments)
 * Valid    any
 * Throws   StatisticsError 'length-mismatch'
 */
export function requireLength(what: string, found: number, n: number): void {
  if (found === n) return
  throw new StatisticsError('length-mismatch', said('values-not-one-each', { found, what, n }), {
    found,
    expected: n,
  })
}

/**
 * The same numbers as a typed array, which is given back as it is where it already is one.
 *
 * Symbols  values
 * Source   none (one kind of array in every loop, which the compiler turns into plain arithmetic)
 * Valid    any
 * Throws   nothing
 */
export function asDoubles(values: ArrayLike<number>): Float64Array {
  if (values instanceof Float64Array) return values
  return new Float64Array(values)
}

function firstNotFinite(values: Float64Array): number {
  for (let i = 0; i < values.length; i++) if (!Number.isFinite(values[i]!)) return i
  return -1
}

/**
 * Refuses data that no fit can use: other lengths, values that are not finite, negative weights, too few points.
 *
 * Symbols  as weightedLeastSquares; names of the coefficients, of which there may be more than columns to look at
 * Source   none (checks of the arguments)
 * Valid    any
 * Throws   StatisticsError 'length-mismatch' | 'not-finite' | 'negative-weight' | 'underdetermined'
 */
export function requireUsable(
  columns: readonly Float64Array[],
  y: Float64Array,
  weights: Float64Array | undefined,
  names: readonly string[],
): void {
  const n = y.length
  if (names.length === 0) {
    throw new StatisticsError('underdetermined', said('nothing-to-fit', {}), { coefficients: 0 })
  }
  if (weights !== undefined) requireLength('weights', weights.length, n)
  const point = Math.max(firstNotFinite(y), weights === undefined ? -1 : firstNotFinite(weights))
  if (point >= 0) {
    throw new StatisticsError('not-finite', said('point-not-finite-number', { point: point + 1 }), { point })
  }
  columns.forEach((column, j) => {
    const place = firstNotFinite(column)
    if (place < 0) return
    throw new StatisticsError(
      'not-finite',
      said('column-not-finite-number', { names: String(names[j]), place: place + 1 }),
      {
        column: names[j],
        point: place,
      },
    )
  })
  let counted = n
  for (let i = 0; weights !== undefined && i < n; i++) {
    const weight = weights[i]!
    if (weight > 0) continue
    counted--
    if (weight === 0) continue
    throw new StatisticsError(
      'negative-weight',
      said('weight-negative', { i: i + 1, weights: String(weight) }),
      { point: i, weight },
    )
  }
  if (counted < names.length) {
    throw new StatisticsError(
      'underdetermined',
      said('too-few-points-for-coefficients', {
        counted: points(counted),
        count: names.length,
        names: names.join(', '),
      }),
      { points: counted, coefficients: names.length },
    )
  }
}

function points(count: number): string {
  return counted(count, 'point')
}

/**
 * Residuals as they would be without their own point.
 *
 *   r₍ᵢ₎ = r_i/(1 − h_i)
 *
 * Symbols  r residuals, h leverages
 * Source   D. M. Allen, Technometrics 16 (1974) 125 (from memory)
 * Valid    h < 1; where h is 1 to within rounding the point cannot be left out and the value is NaN
 * Throws   nothing
 */
export function leaveOneOut(residuals: Float64Array, leverages: Float64Array): Float64Array {
  const without = new Float64Array(residuals.length)
  for (let i = 0; i < without.length; i++) {
    const rest = 1 - leverages[i]!
    without[i] = rest > 1e-12 ? residuals[i]! / rest : Number.NaN
  }
  return without
}

/**
 * The refusal of a column that the others already contain, in words that name the columns.
 *
 * Symbols  j place of the dependent column; factors with which the earlier (scaled) columns make it
 * Source   none (words)
 * Valid    any
 * Throws   nothing; returns the error
 */
export function rankDeficient(
  j: number,
  factors: readonly number[],
  names: readonly string[],
): StatisticsError {
  const largest = Math.max(0, ...factors.map(Math.abs))
  const others = names.filter((_, k) => k < factors.length && Math.abs(at(factors, k)) > 1e-9 * largest)
  const column = at(names, j)
  const why =
    largest > 0
      ? said('column-of-others', { column, others: others.join(', ') })
      : said('column-of-zeros', { column })
  return new StatisticsError('rank-deficient', why, { column, dependsOn: others })
}
