import { at, columnOf, zip } from '../base/lists.ts'
import { add, type DoubleDouble, divide, multiply, squareRoot, subtract } from './compensated.ts'
import { conditionOfTriangle } from './condition.ts'
import { type LeastSquaresFit, leaveOneOut, rankDeficient } from './fit-result.ts'
import {
  dependenceOf,
  entryAt,
  inverseOfR,
  type PreciseColumn,
  preciseQr,
  sumOfProducts,
} from './precise-qr.ts'

const ONE: DoubleDouble = { hi: 1, lo: 0 }

export interface PreciseFitOptions {
  readonly names: readonly string[]
  readonly aboutMean: boolean
  /** Part of a column's length below which it counts as dependent on those before it. */
  readonly tolerance: number
  readonly absolute: boolean
  /** Rows that turn the fitted coefficients into those wanted: a basis fitted for its shape, stated in another. */
  readonly transform?: readonly (readonly DoubleDouble[])[]
}

/**
 * Weighted least squares on columns of double-doubles, with an optional change of basis at the end.
 *
 * Symbols  as weightedLeastSquares; transform T: stated coefficients = T × fitted ones
 * Source   as weightedLeastSquares
 * Valid    as weightedLeastSquares; data already checked by requireUsable
 * Throws   StatisticsError 'rank-deficient'
 */
export function preciseLeastSquares(
  columns: readonly PreciseColumn[],
  y: PreciseColumn,
  weights: PreciseColumn | undefined,
  options: PreciseFitOptions,
): LeastSquaresFit {
  const n = y.hi.length
  const roots = weights === undefined ? undefined : rootsOf(weights)
  const scaled = columns.map((column) => rowsScaled(column, roots))
  const qr = preciseQr(scaled, rowsScaled(y, roots), options.tolerance)
  if (qr.dependentAt >= 0) throw rankDeficient(qr.dependentAt, dependenceOf(qr), options.names)
  const p = columns.length
  const unscaled = (x: DoubleDouble, scale: number) => ({ hi: x.hi / scale, lo: x.lo / scale })
  const fitted = zip(qr.solution, qr.scales).map(([x, scale]) => unscaled(x, scale))
  const inverse = zip(inverseOfR(qr), qr.scales).map(([row, scale]) => row.map((x) => unscaled(x, scale)))
  const stated = options.transform?.map((row) => sumOfProducts(row, fitted)) ?? fitted
  const factor =
    options.transform?.map((row) =>
      Array.from({ length: p }, (_, k) => sumOfProducts(row, columnOf(inverse, k))),
    ) ?? inverse
  const terms = zip(columns, fitted).map(([column, b]) => ({ column, b }))
  const residuals = new Float64Array(n)
  let chi: DoubleDouble = { hi: 0, lo: 0 }
  let counted = 0
  for (let i = 0; i < n; i++) {
    let rest = entryAt(y, i)
    for (const { column, b } of terms) rest = subtract(rest, multiply(entryAt(column, i), b))
    residuals[i] = rest.hi
    const weight = weights === undefined ? ONE : entryAt(weights, i)
    if (weight.hi > 0) counted++
    chi = add(chi, multiply(weight, multiply(rest, rest)))
  }
  const degreesOfFreedom = counted - p
  const variance = divide(chi, { hi: degreesOfFreedom, lo: 0 })
  const s2 = options.absolute ? ONE : degreesOfFreedom > 0 ? variance : { hi: Number.NaN, lo: 0 }
  const covariance = factor.map((a) => factor.map((b) => multiply(s2, sumOfProducts(a, b)).hi))
  return {
    coefficients: stated.map((x) => x.hi),
    covariance,
    standardUncertainties: covariance.map((row, j) => Math.sqrt(at(row, j))),
    residuals,
    residualSd: degreesOfFreedom > 0 ? squareRoot(variance).hi : Number.NaN,
    rSquared: rSquaredOf(y, weights, chi, options.aboutMean),
    chiSquared: chi.hi,
    degreesOfFreedom,
    leverages: qr.leverages,
    leaveOneOutResiduals: leaveOneOut(residuals, qr.leverages),
    condition: conditionOfTriangle(qr.r.map((column) => column.hi)),
  }
}

function rootsOf(weights: PreciseColumn): PreciseColumn {
  const hi = new Float64Array(weights.hi.length)
  const lo = new Float64Array(weights.hi.length)
  for (let i = 0; i < hi.length; i++) {
    const root = squareRoot(entryAt(weights, i))
    hi[i] = root.hi
    lo[i] = root.lo
  }
  return { hi, lo }
}

function rowsScaled(column: PreciseColumn, roots: PreciseColumn | undefined): PreciseColumn {
  const hi = column.hi.slice()
  const lo = column.lo.slice()
  if (roots === undefined) return { hi, lo }
  for (let i = 0; i < hi.length; i++) {
    const product = multiply(entryAt(column, i), entryAt(roots, i))
    hi[i] = product.hi
    lo[i] = product.lo
  }
  return { hi, lo }
}

function rSquaredOf(
  y: PreciseColumn,
  weights: PreciseColumn | undefined,
  chi: DoubleDouble,
  aboutMean: boolean,
): number {
  const n = y.hi.length
  const weightAt = (i: number) => (weights === undefined ? ONE : entryAt(weights, i))
  let mean: DoubleDouble = { hi: 0, lo: 0 }
  if (aboutMean) {
    let sum: DoubleDouble = { hi: 0, lo: 0 }
    let weightSum: DoubleDouble = { hi: 0, lo: 0 }
    for (let i = 0; i < n; i++) {
      sum = add(sum, multiply(weightAt(i), entryAt(y, i)))
      weightSum = add(weightSum, weightAt(i))
    }
    mean = divide(sum, weightSum)
  }
  let total: DoubleDouble = { hi: 0, lo: 0 }
  for (let i = 0; i < n; i++) {
    const d = subtract(entryAt(y, i), mean)
    total = add(total, multiply(weightAt(i), multiply(d, d)))
  }
  return total.hi > 0 ? subtract(ONE, divide(chi, total)).hi : Number.NaN
}
