import { lowerTriangle, solveLower } from '../statistics/cholesky.ts'

/** Residuals of a fit held against what the budget leads to expect of them. */
export interface ResidualScatter {
  /** Directions that the fit leaves free. */
  readonly freedom: number
  readonly chiSquared: number
  /** Standard deviation, mK, of an independent error of every point that would explain the residuals; 0: they need none. */
  readonly beyondMk: number
}

/** Length from which on a direction is left free: those that the fit takes up have what numerical derivatives and curvature leave. */
const TAKEN_UP = 0.02
/** Keeps the covariance positive where records state nothing at all, mK squared. */
const TINY = 1e-6
/** Halvings until the size of the excess stands, far finer than it is known. */
const HALVINGS = 40

/**
 * Residuals in the directions that the fit leaves free, each against its own uncertainty and with what they have in common:
 *
 *   r = M e,  M = H - 1,  Q orthonormal in the range of M,  z = Q' r,
 *   chi^2 = z' (Q' M V M' Q)^-1 z,  and s with  z' (Q' M (V + s^2 D) M' Q)^-1 z = nu
 *
 * A sum of squares judges them by their largest expected part; here what scatters little by its budget has to scatter little.
 *
 * Symbols  r residuals, mK; e errors of the points, V their covariance, H d(fit)/d(point), D 1 for the points of the bath, nu rank of M
 * Source   M. G. Cox, C. Eiø, G. Mana, F. Pennecchi, Metrologia 43 (2006) S268 (chi-squared with covariance; from memory);
 *          R. C. Paule, J. Mandel, J. Res. NBS 87 (1982) 377 (size of what is beyond; from memory)
 * Valid    as many residuals as rows
 * Throws   nothing
 */
export function residualScatter(
  residuals: readonly number[],
  rows: readonly (readonly number[])[],
  covariance: readonly (readonly number[])[],
  isBath: readonly boolean[],
): ResidualScatter {
  const free = rangeOf(rows)
  const freedom = free.length
  if (freedom === 0) return { freedom, chiSquared: 0, beyondMk: 0 }
  const z = free.map((q) => dot(q, residuals))
  // Q' M by row.
  const seen = free.map((q) => rows[0]!.map((_, j) => q.reduce((sum, x, i) => sum + x * rows[i]![j]!, 0)))
  const expected = between(seen, (i, j) => covariance[i]![j]! + (i === j ? TINY : 0))
  const scattered = between(seen, (i, j) => (i === j && isBath[i] ? 1 : 0))
  const chiSquaredWith = (square: number) => {
    const whole = expected.map((row, k) => row.map((v, l) => v + square * scattered[k]![l]!))
    const x = solveLower(lowerTriangle(whole), z)
    return dot(x, x)
  }
  const chiSquared = chiSquaredWith(0)
  if (!(chiSquared > freedom)) return { freedom, chiSquared, beyondMk: 0 }
  let [low, high] = [0, dot(z, z)]
  for (let i = 0; i < HALVINGS; i++) {
    const middle = (low + high) / 2
    if (chiSquaredWith(middle) > freedom) low = middle
    else high = middle
  }
  return { freedom, chiSquared, beyondMk: Math.sqrt(high) }
}

const dot = (a: readonly number[], b: readonly number[]) => a.reduce((sum, x, i) => sum + x * b[i]!, 0)

/** A C A' for a symmetric C. */
function between(a: readonly (readonly number[])[], c: (i: number, j: number) => number): number[][] {
  const ca = a.map((row) => row.map((_, i) => row.reduce((sum, x, j) => sum + c(i, j) * x, 0)))
  return a.map((row) => ca.map((other) => dot(row, other)))
}

/** Orthonormal directions that span the columns of a matrix, the longest remaining column first (modified Gram-Schmidt). */
function rangeOf(rows: readonly (readonly number[])[]): number[][] {
  let columns = rows.length === 0 ? [] : rows[0]!.map((_, j) => rows.map((row) => row[j]!))
  const found: number[][] = []
  while (columns.length > 0) {
    const lengths = columns.map((column) => Math.sqrt(dot(column, column)))
    const longest = lengths.indexOf(Math.max(...lengths))
    if (!(lengths[longest]! > TAKEN_UP)) break
    const q = columns[longest]!.map((x) => x / lengths[longest]!)
    found.push(q)
    columns = columns.map((column) => {
      const along = dot(q, column)
      return column.map((x, i) => x - along * q[i]!)
    })
  }
  return found
}
