import { at, zip } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { lowerTriangle } from './cholesky.ts'
import { StatisticsError } from './errors.ts'

export interface Correlation {
  readonly a: string
  readonly b: string
  readonly r: number
}

/**
 * Correlation matrix of named quantities; the ones not mentioned are uncorrelated.
 *
 * Symbols  names in order; r correlation coefficients
 * Source   JCGM 100:2008, 5.2.2
 * Valid    −1 ≤ r ≤ 1, each pair once
 * Throws   StatisticsError 'unknown-name' | 'out-of-range' | 'duplicate-name'
 */
export function correlationMatrix(
  names: readonly string[],
  correlations: readonly Correlation[],
): number[][] {
  const matrix: number[][] = names.map((_, i) => names.map((__, j) => (i === j ? 1 : 0)))
  const given = new Set<string>()
  for (const { a, b, r } of correlations) {
    const i = names.indexOf(a)
    const j = names.indexOf(b)
    const unknown = i < 0 ? a : j < 0 ? b : undefined
    if (unknown !== undefined) {
      throw new StatisticsError('unknown-name', said('correlation-of-no-input', { unknown }), {
        name: unknown,
      })
    }
    if (!(Math.abs(r) <= 1)) {
      throw new StatisticsError('out-of-range', said('correlation-out-of-range', { a, b, r }), {
        a,
        b,
        r,
      })
    }
    if (i === j) {
      if (r === 1) continue
      throw new StatisticsError('out-of-range', said('correlation-with-itself', { a, r }), {
        a,
        r,
      })
    }
    const key = i < j ? `${i} ${j}` : `${j} ${i}`
    if (given.has(key)) {
      throw new StatisticsError('duplicate-name', said('correlation-given-twice', { a, b }), {
        a,
        b,
      })
    }
    given.add(key)
    at(matrix, i)[j] = r
    at(matrix, j)[i] = r
  }
  return matrix
}

/**
 * Correlation coefficient of two series observed together, which is also that of their means.
 *
 *   r = Σ(x − x̄)(y − ȳ)/√(Σ(x − x̄)² Σ(y − ȳ)²)
 *
 * Symbols  x, y observations, pair by pair
 * Source   JCGM 100:2008, 5.2.3 and H.2
 * Valid    two or more pairs; NaN where one of the series does not vary
 * Throws   StatisticsError 'length-mismatch' | 'too-few-values'
 */
export function observedCorrelation(x: readonly number[], y: readonly number[]): number {
  if (x.length !== y.length) {
    throw new StatisticsError(
      'length-mismatch',
      said('observations-not-paired', { x: x.length, y: y.length }),
      {
        x: x.length,
        y: y.length,
      },
    )
  }
  if (x.length < 2) throw new StatisticsError('too-few-values', said('correlation-of-one-pair', {}))
  const n = x.length
  const meanX = x.reduce((sum, value) => sum + value, 0) / n
  const meanY = y.reduce((sum, value) => sum + value, 0) / n
  let xx = 0
  let yy = 0
  let xy = 0
  for (const [ownX, ownY] of zip(x, y)) {
    const dx = ownX - meanX
    const dy = ownY - meanY
    xx += dx * dx
    yy += dy * dy
    xy += dx * dy
  }
  return Math.max(-1, Math.min(1, xy / Math.sqrt(xx * yy)))
}

/**
 * Quantities that hang together by correlations, directly or through others.
 *
 * Symbols  matrix of correlation coefficients; result: groups of places, singles left out
 * Source   none (connected parts of a graph)
 * Valid    symmetric matrix
 * Throws   nothing
 */
export function correlatedGroups(matrix: readonly (readonly number[])[]): number[][] {
  const seen = new Set<number>()
  const groups: number[][] = []
  for (let start = 0; start < matrix.length; start++) {
    if (seen.has(start)) continue
    const group = [start]
    seen.add(start)
    for (const place of group) {
      for (const [other, r] of at(matrix, place).entries()) {
        if (r === 0 || seen.has(other)) continue
        seen.add(other)
        group.push(other)
      }
    }
    if (group.length > 1) groups.push(group.sort((p, q) => p - q))
  }
  return groups
}

/**
 * Lower triangle L of a correlation matrix, L Lᵀ = R.
 *
 * A row that the ones before it determine entirely (r = ±1) gets a zero on the diagonal.
 *
 * Symbols  R correlation matrix; L lower triangle
 * Source   JCGM 101:2008, 6.4.8 (multivariate normal by Cholesky decomposition)
 * Valid    positive semidefinite R
 * Throws   StatisticsError 'not-positive-definite', naming the input at which it fails
 */
export function choleskyOf(matrix: readonly (readonly number[])[], names: readonly string[]): number[][] {
  return lowerTriangle(matrix, {
    pivot: (left, _, row) => {
      if (left < -1e-9) throw notPositive(names, row)
      return left > 1e-12 ? Math.sqrt(left) : 0
    },
    leftOver: (left, row) => {
      if (Math.abs(left) > 1e-6) throw notPositive(names, row)
    },
  })
}

function notPositive(names: readonly string[], place: number): StatisticsError {
  return new StatisticsError(
    'not-positive-definite',
    said('correlations-contradict', { names: String(names[place]) }),
    { name: names[place] },
  )
}
