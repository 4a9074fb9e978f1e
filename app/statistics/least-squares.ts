import { columnOf, first } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { StatisticsError } from './errors.ts'
import {
  asDoubles,
  type LeastSquaresFit,
  type LeastSquaresOptions,
  requireLength,
  requireUsable,
} from './fit-result.ts'
import { preciseLeastSquares } from './precise-least-squares.ts'
import { toPrecise } from './precise-qr.ts'
import { tallLeastSquares } from './tall-least-squares.ts'

export type { LeastSquaresFit, LeastSquaresOptions } from './fit-result.ts'

/** A column counts as dependent below this part of its length: the rounding of the entries themselves. */
const DOUBLE_TOLERANCE = 1e-14
/** Up to this n p² everything is carried in double-double; about a tenth of a second at most. */
const PRECISE_LIMIT = 500_000

/**
 * Weighted linear least squares by Householder QR on scaled columns.
 *
 *   min Σ w_i (y_i − Σ_j X_ij β_j)²;  cov β = s² (XᵀWX)⁻¹,  s² = χ²/ν
 *
 * Up to half a million of row-by-column-squared products the arithmetic is double-double from end to end,
 * so that nearly dependent columns cost no digit of the answer; above that it is double, by blocks of
 * rows, with a step of refinement where the columns are ill-conditioned.
 *
 * Symbols  X design (n rows, p columns), y observations, w weights, β coefficients, ν = n − p
 * Source   JCGM 100:2008, H.3 (straight line); G. H. Golub, C. F. Van Loan, Matrix Computations, 5.3 (from memory)
 * Valid    n ≥ p, weights ≥ 0, independent columns; points of weight 0 do not count in n
 * Throws   StatisticsError 'length-mismatch' | 'not-finite' | 'negative-weight' | 'underdetermined' | 'rank-deficient'
 */
export function weightedLeastSquares(
  design: readonly (readonly number[])[],
  y: ArrayLike<number>,
  weights?: ArrayLike<number>,
  options: LeastSquaresOptions = {},
): LeastSquaresFit {
  const p = design[0]?.length ?? 0
  for (const [i, row] of design.entries()) {
    if (row.length !== p) {
      throw new StatisticsError(
        'length-mismatch',
        said('row-of-another-length', { i: i + 1, found: row.length, p }),
        {
          row: i,
        },
      )
    }
  }
  const columns = Array.from({ length: p }, (_, j) => Float64Array.from(columnOf(design, j)))
  return columnLeastSquares(columns, y, weights, options)
}

/**
 * The same with the design given as columns, without copying rows: the way for long records.
 *
 * Symbols  as weightedLeastSquares; columns[j][i] = X_ij
 * Source   as weightedLeastSquares
 * Valid    as weightedLeastSquares
 * Throws   as weightedLeastSquares
 */
export function columnLeastSquares(
  columns: readonly Float64Array[],
  y: ArrayLike<number>,
  weights?: ArrayLike<number>,
  options: LeastSquaresOptions = {},
): LeastSquaresFit {
  const own = { y: asDoubles(y), weights: weights === undefined ? undefined : asDoubles(weights) }
  const n = y.length
  const p = columns.length
  for (const column of columns) requireLength('rows of the design', column.length, n)
  const names = options.columnNames ?? columns.map((_, j) => `x${j + 1}`)
  requireUsable(columns, own.y, own.weights, names)
  const aboutMean = options.aboutMean ?? columns.some(isConstant)
  const absolute = options.weightsAre === 'absolute'
  if (n * p * p > PRECISE_LIMIT) {
    return tallLeastSquares(columns, own.y, own.weights, { names, aboutMean, absolute })
  }
  const decimal = options.decimal === true
  return preciseLeastSquares(
    columns.map((column) => toPrecise(column, decimal)),
    toPrecise(y, decimal),
    own.weights && toPrecise(own.weights, decimal),
    { names, aboutMean, tolerance: DOUBLE_TOLERANCE, absolute },
  )
}

function isConstant(column: Float64Array): boolean {
  const value = first(column)
  return value !== 0 && column.every((other) => other === value)
}
