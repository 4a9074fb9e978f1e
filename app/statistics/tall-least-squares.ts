import { at, columnOf, first, last, zip } from '../base/lists.ts'
import { conditionOfTriangle } from './condition.ts'
import { type LeastSquaresFit, leaveOneOut, rankDeficient } from './fit-result.ts'
import { addMultiple, lessProducts, plusProducts } from './vectors.ts'

export interface TallOptions {
  readonly names: readonly string[]
  readonly aboutMean: boolean
  readonly absolute: boolean
}

/** Rows taken at a time: few enough that a block of ten columns stays in the first cache. */
const BLOCK = 256
const TOLERANCE = 1e-12
/** Above this condition number one step of refinement wins back the digits lost on the way. */
const REFINE_ABOVE = 1e3

/**
 * Weighted least squares for long records: Householder QR by blocks of rows, in doubles.
 *
 * Only the triangle R and the current block are held; each block is folded into R by p reflections, so
 * the record is read once and nothing of its size is copied. Where the columns are ill-conditioned the
 * corrected seminormal equations refine the solution.
 *
 *   R'R δ = Xᵀ W (y − X β),  β ← β + δ
 *
 * Symbols  as weightedLeastSquares
 * Source   G. H. Golub, C. F. Van Loan, Matrix Computations, 5.2 (QR); Å. Björck, Linear Algebra Appl. 88/89
 *          (1987) 31 (corrected seminormal equations); both from memory
 * Valid    n ≥ p, data already checked by requireUsable
 * Throws   StatisticsError 'rank-deficient'
 */
export function tallLeastSquares(
  columns: readonly Float64Array[],
  y: Float64Array,
  weights: Float64Array | undefined,
  options: TallOptions,
): LeastSquaresFit {
  const p = columns.length
  const roots = weights === undefined ? undefined : rootsOf(weights)
  const scales = Float64Array.from(columns, (column) => powerOfTwoNear(column))
  const r = triangleOf(columns, y, roots, scales)
  refuseDependence(r, options.names)
  const scaledCondition = conditionOfTriangle(r.slice(0, p))
  const beta = solve(r, last(r))
  let residuals = residualsOf(columns, y, beta, scales)
  if (scaledCondition > REFINE_ABOVE) {
    const change = solve(r, solveTransposed(r, gradient(columns, residuals, weights, scales)))
    addMultiple(beta, 1, change)
    residuals = residualsOf(columns, y, beta, scales)
  }
  const inverse = inverseColumns(r)
  const leverages = leveragesOf(columns, roots, scales, inverse)
  const { chiSquared, counted, total } = sums(y, residuals, weights, options.aboutMean)
  const degreesOfFreedom = counted - p
  const variance = degreesOfFreedom > 0 ? chiSquared / degreesOfFreedom : Number.NaN
  const s2 = options.absolute ? 1 : variance
  const rows = [...scales].map((scale, a) => ({ scale, row: Float64Array.from(columnOf(inverse, a)) }))
  const covariance = rows.map((a, i) =>
    rows.map((b, j) => {
      const from = Math.max(i, j)
      return (s2 * plusProducts(0, a.row.subarray(from), b.row.subarray(from))) / (a.scale * b.scale)
    }),
  )
  return {
    coefficients: zip(beta, scales).map(([x, scale]) => x / scale),
    covariance,
    standardUncertainties: covariance.map((row, j) => Math.sqrt(at(row, j))),
    residuals,
    residualSd: Math.sqrt(variance),
    rSquared: total > 0 ? 1 - chiSquared / total : Number.NaN,
    chiSquared,
    degreesOfFreedom,
    leverages,
    leaveOneOutResiduals: leaveOneOut(residuals, leverages),
    condition: scaledCondition,
  }
}

function rootsOf(weights: Float64Array): Float64Array {
  const roots = new Float64Array(weights.length)
  for (let i = 0; i < roots.length; i++) roots[i] = Math.sqrt(weights[i]!)
  return roots
}

function powerOfTwoNear(column: Float64Array): number {
  let largest = 0
  for (let i = 0; i < column.length; i++) {
    const size = Math.abs(column[i]!)
    if (size > largest) largest = size
  }
  return largest > 0 ? 2 ** Math.round(Math.log2(largest)) : 1
}

/** Columns of R, and after them Qᵀy; each holds its p top rows. */
function triangleOf(
  columns: readonly Float64Array[],
  y: Float64Array,
  roots: Float64Array | undefined,
  scales: Float64Array,
): Float64Array[] {
  const n = y.length
  const p = columns.length
  const sources = zip(columns, scales).map(([source, scale]) => ({ source, factor: 1 / scale }))
  sources.push({ source: y, factor: 1 })
  const top = Array.from({ length: p + 1 }, () => new Float64Array(p))
  const block = Array.from({ length: p + 1 }, () => new Float64Array(BLOCK))
  for (let start = 0; start < n; start += BLOCK) {
    const rows = Math.min(BLOCK, n - start)
    for (const [target, { source, factor }] of zip(block, sources)) {
      if (roots === undefined) for (let i = 0; i < rows; i++) target[i] = source[start + i]! * factor
      else for (let i = 0; i < rows; i++) target[i] = source[start + i]! * factor * roots[start + i]!
    }
    foldIn(top, block, rows, p)
  }
  return top
}

/** One block of rows reflected into the triangle above it. */
function foldIn(top: readonly Float64Array[], block: readonly Float64Array[], rows: number, p: number): void {
  for (let j = 0; j < p; j++) {
    const v = block[j]!
    let tail = 0
    for (let i = 0; i < rows; i++) tail += v[i]! * v[i]!
    if (tail === 0) continue
    const head = top[j]![j]!
    const length = Math.sqrt(head * head + tail)
    const diagonal = head > 0 ? -length : length
    const first = head - diagonal
    const beta = 2 / (first * first + tail)
    top[j]![j] = diagonal
    for (let k = j + 1; k <= p; k++) {
      const x = block[k]!
      let product = first * top[k]![j]!
      for (let i = 0; i < rows; i++) product += v[i]! * x[i]!
      product *= beta
      top[k]![j] = top[k]![j]! - product * first
      for (let i = 0; i < rows; i++) x[i] = x[i]! - product * v[i]!
    }
  }
}

function refuseDependence(r: readonly Float64Array[], names: readonly string[]): void {
  for (const [j, column] of r.slice(0, names.length).entries()) {
    // Below the diagonal a column of R is 0.
    const length = column.reduce((sum, x) => Math.hypot(sum, x), 0)
    if (Math.abs(at(column, j)) > TOLERANCE * length) continue
    throw rankDeficient(j, Array.from(solve(r.slice(0, j), column)), names)
  }
}

/** R x = right side, R given as columns (a last one beyond the square is not looked at). */
function solve(r: readonly Float64Array[], right: Float64Array): Float64Array {
  const p = Math.min(r.length, right.length)
  let x: number[] = []
  for (let i = p - 1; i >= 0; i--) {
    const later = columnOf(r.slice(i + 1, p), i)
    x = [lessProducts(at(right, i), later, x, x.length) / at(at(r, i), i), ...x]
  }
  return Float64Array.from(x)
}

function solveTransposed(r: readonly Float64Array[], right: Float64Array): Float64Array {
  const x: number[] = []
  for (const [value, column] of zip(right, r.slice(0, right.length))) {
    const i = x.length
    x.push(lessProducts(value, Array.from(column), x, i) / at(column, i))
  }
  return Float64Array.from(x)
}

/** Columns of R⁻¹. */
function inverseColumns(r: readonly Float64Array[]): Float64Array[] {
  const p = first(r).length
  return Array.from({ length: p }, (_, j) => {
    const unit = new Float64Array(p)
    unit[j] = 1
    return solve(r, unit)
  })
}

function residualsOf(
  columns: readonly Float64Array[],
  y: Float64Array,
  beta: Float64Array,
  scales: Float64Array,
): Float64Array {
  const residuals = y.slice()
  for (let j = 0; j < columns.length; j++) {
    const column = columns[j]!
    const factor = beta[j]! / scales[j]!
    for (let i = 0; i < residuals.length; i++) residuals[i] = residuals[i]! - factor * column[i]!
  }
  return residuals
}

function gradient(
  columns: readonly Float64Array[],
  residuals: Float64Array,
  weights: Float64Array | undefined,
  scales: Float64Array,
): Float64Array {
  return Float64Array.from(columns, (column, j) => {
    let sum = 0
    for (let i = 0; i < residuals.length; i++) {
      sum += (weights === undefined ? 1 : weights[i]!) * residuals[i]! * column[i]!
    }
    return sum / scales[j]!
  })
}

/** h_i = |R⁻ᵀ x_i|², by blocks of rows that stay in the cache. */
function leveragesOf(
  columns: readonly Float64Array[],
  roots: Float64Array | undefined,
  scales: Float64Array,
  inverse: readonly Float64Array[],
): Float64Array {
  const n = columns[0]!.length
  const leverages = new Float64Array(n)
  const part = new Float64Array(BLOCK)
  for (let start = 0; start < n; start += BLOCK) {
    const rows = Math.min(BLOCK, n - start)
    for (let k = 0; k < columns.length; k++) {
      part.fill(0)
      for (let j = 0; j <= k; j++) {
        const column = columns[j]!
        const factor = inverse[k]![j]! / scales[j]!
        for (let i = 0; i < rows; i++) part[i] = part[i]! + factor * column[start + i]!
      }
      for (let i = 0; i < rows; i++) leverages[start + i] = leverages[start + i]! + part[i]! * part[i]!
    }
  }
  if (roots !== undefined) for (let i = 0; i < n; i++) leverages[i] = leverages[i]! * roots[i]! * roots[i]!
  return leverages
}

function sums(
  y: Float64Array,
  residuals: Float64Array,
  weights: Float64Array | undefined,
  aboutMean: boolean,
): { chiSquared: number; counted: number; total: number } {
  const n = y.length
  let weightSum = 0
  let weighted = 0
  for (let i = 0; i < n; i++) {
    const weight = weights === undefined ? 1 : weights[i]!
    weightSum += weight
    weighted += weight * y[i]!
  }
  const mean = aboutMean ? weighted / weightSum : 0
  let chiSquared = 0
  let total = 0
  let counted = 0
  for (let i = 0; i < n; i++) {
    const weight = weights === undefined ? 1 : weights[i]!
    const d = y[i]! - mean
    if (weight > 0) counted++
    chiSquared += weight * residuals[i]! * residuals[i]!
    total += weight * d * d
  }
  return { chiSquared, counted, total }
}
