import { lowerTriangle, solveLower } from '../statistics/cholesky.ts'
import { fQuantile } from '../statistics/fisher-f.ts'
import { dot } from '../statistics/vectors.ts'

/** Residuals of a fit held against what the budget leads to expect of them. */
export interface ResidualScatter {
  /** Directions that the fit leaves free. */
  readonly freedom: number
  readonly chiSquared: number
  /** Degrees of freedom with which the expected variance itself is known. */
  readonly expectedFreedom: number
  /** Part of the expected variance that other thermometers of the night may have in common with this one. */
  readonly sharedPart: number
  /** Standard deviation, mK, of an independent error of every point that would explain the residuals; 0: they need none. */
  readonly beyondMk: number
}

/** A source of error as far as residuals show it. */
export interface ExpectedSource {
  covarianceMk2(i: number, j: number): number
  /** Of a sum of the errors of the points by weights. */
  varianceMk2(weights: readonly number[]): number
  readonly degreesOfFreedom: number
  /** Sources of one name are one estimate. */
  readonly estimate: string
  readonly isShared: boolean
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
 *          R. C. Paule, J. Mandel, J. Res. NBS 87 (1982) 377 (size of what is beyond; from memory);
 *          JCGM 100:2008, G.4.1 (degrees of freedom of the expected variance)
 * Valid    as many residuals as rows
 * Throws   nothing
 */
export function residualScatter(
  residuals: readonly number[],
  rows: readonly (readonly number[])[],
  sources: readonly ExpectedSource[],
  isBath: readonly boolean[],
): ResidualScatter {
  const free = rangeOf(rows)
  const freedom = free.length
  if (freedom === 0)
    return { freedom, chiSquared: 0, expectedFreedom: Number.POSITIVE_INFINITY, sharedPart: 0, beyondMk: 0 }
  const z = free.map((q) => dot(q, residuals))
  // Q' M by row.
  const seen = free.map((q) => rows.map((_, j) => q.reduce((sum, x, i) => sum + x * rows[i]![j]!, 0)))
  const covariance = rows.map((_, i) =>
    rows.map((_row, j) => sources.reduce((sum, s) => sum + s.covarianceMk2(i, j), i === j ? TINY : 0)),
  )
  const expected = between(seen, (i, j) => covariance[i]![j]!)
  const scattered = between(seen, (i, j) => (i === j && isBath[i] ? 1 : 0))
  const chiSquaredWith = (square: number) => {
    const whole = expected.map((row, k) => row.map((v, l) => v + square * scattered[k]![l]!))
    const x = solveLower(lowerTriangle(whole), z)
    return dot(x, x)
  }
  const chiSquared = chiSquaredWith(0)
  return {
    freedom,
    chiSquared,
    ...knownOf(whitened(seen, lowerTriangle(expected)), sources),
    beyondMk: Math.sqrt(chiSquared > freedom ? excess(chiSquaredWith, freedom, dot(z, z)) : 0),
  }
}

/** Chi-squared that residuals within their budget stay below, but for `chance`: an F-distribution, since the budget is an estimate too. */
export function scatterLimit({ freedom, expectedFreedom }: ResidualScatter, chance: number): number {
  return freedom * fQuantile(1 - chance, freedom, expectedFreedom)
}

/**
 * Residuals of all thermometers of a night together, as a multiple of what they stay below but for `chance`. Thermometers that
 * share errors are fewer independent ones:
 *
 *   h = (sum nu_i)^2 / (sum nu_i + sum_(i != j) min(nu_i, nu_j) g_i g_j)
 *
 * Symbols: nu_i directions left free, g_i shared part of the expected variance, h degrees of freedom of the sum. Source: two
 * moments of a sum of chi-squared as in JCGM 100:2008, G.4.1; the bound of the covariance: own, no source.
 */
export function scatterTogether(all: readonly ResidualScatter[], chance: number): number {
  const freedom = all.reduce((sum, s) => sum + s.freedom, 0)
  if (freedom === 0) return 0
  const spread = all.reduce(
    (sum, a, i) =>
      sum +
      all.reduce(
        (part, b, j) =>
          part + (i === j ? a.freedom : Math.min(a.freedom, b.freedom) * a.sharedPart * b.sharedPart),
        0,
      ),
    0,
  )
  const known = Math.min(...all.map((s) => s.expectedFreedom))
  const limit = freedom * fQuantile(1 - chance, freedom ** 2 / spread, known)
  return all.reduce((sum, s) => sum + s.chiSquared, 0) / limit
}

/** Square of the standard deviation of an error of every point with which chi-squared is what it should be. */
function excess(chiSquaredWith: (square: number) => number, freedom: number, most: number): number {
  let [low, high] = [0, most]
  for (let i = 0; i < HALVINGS; i++) {
    const middle = (low + high) / 2
    if (chiSquaredWith(middle) > freedom) low = middle
    else high = middle
  }
  return high
}

/** Rows in units of their own standard uncertainty, free of what they have in common. */
function whitened(seen: readonly (readonly number[])[], lower: readonly (readonly number[])[]): number[][] {
  const columns = seen[0]!.map((_, j) =>
    solveLower(
      lower,
      seen.map((row) => row[j]!),
    ),
  )
  return seen.map((_, k) => columns.map((column) => column[k]!))
}

/** How well the expected variance is known, and how much of it is shared. */
function knownOf(white: readonly (readonly number[])[], sources: readonly ExpectedSource[]) {
  const parts = sources.map((s) => white.reduce((sum, row) => sum + s.varianceMk2(row), 0) / white.length)
  const uncertain = new Map<string, number>()
  sources.forEach(({ estimate, degreesOfFreedom }, q) => {
    uncertain.set(estimate, (uncertain.get(estimate) ?? 0) + parts[q]! / Math.sqrt(degreesOfFreedom))
  })
  const squares = [...uncertain.values()].reduce((sum, part) => sum + part * part, 0)
  return {
    expectedFreedom: 1 / squares,
    sharedPart: sources.reduce((sum, s, q) => sum + (s.isShared ? parts[q]! : 0), 0),
  }
}

/** A C A' for a symmetric C. */
function between(a: readonly (readonly number[])[], c: (i: number, j: number) => number): number[][] {
  const ca = a.map((row) => row.map((_, i) => row.reduce((sum, x, j) => sum + c(i, j) * x, 0)))
  return a.map((row) => ca.map((other) => dot(row, other)))
}

/** Orthonormal directions that span the columns of a matrix, the longest remaining column first (modified Gram-Schmidt). */
function rangeOf(rows: readonly (readonly number[])[]): number[][] {
  let columns = rows.map((_, j) => rows.map((row) => row[j]!))
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
