import { at } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { type DoubleDouble, divide, multiply, subtract, twoProduct } from './compensated.ts'
import { StatisticsError } from './errors.ts'
import { asDoubles, type LeastSquaresFit, requireUsable } from './fit-result.ts'
import { columnLeastSquares } from './least-squares.ts'
import { preciseLeastSquares } from './precise-least-squares.ts'
import { entryAt, type PreciseColumn, sumOfProducts, toPrecise } from './precise-qr.ts'

export interface PolynomialOptions {
  /** Whether the constant term is fitted; true unless told. */
  readonly intercept?: boolean
  readonly weights?: ArrayLike<number>
  readonly weightsAre?: 'relative' | 'absolute'
  /** Take every number as the decimal it prints as, not as the nearest double: for data read from text. */
  readonly decimal?: boolean
}

/** Powers carried to 32 digits keep columns apart down to here. */
const PRECISE_TOLERANCE = 1e-26
const PRECISE_LIMIT = 500_000

/**
 * Weighted polynomial fit; coefficients of ascending powers of x as it was given.
 *
 *   y = Σ b_k xᵏ,  k = 0 .. degree (from 1 without a constant term)
 *
 * The fit is made on u = (x − c)/s, which runs about from −1 to 1, and carried back to powers of x in
 * double-double, covariance included, so that a tenth degree far from the origin keeps its digits.
 * Without a constant term x cannot be shifted and is only scaled.
 *
 * Symbols  x, y observations; b coefficients, in units of y per power of x; c, s centre and half-width of x
 * Source   JCGM 100:2008, H.3 (first degree); NIST StRD certified fits are the check
 * Valid    at least as many different x as coefficients
 * Throws   StatisticsError 'length-mismatch' | 'not-finite' | 'negative-weight' | 'underdetermined' |
 *          'rank-deficient' | 'out-of-range'
 */
export function polynomialFit(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  degree: number,
  options: PolynomialOptions = {},
): LeastSquaresFit {
  const intercept = options.intercept ?? true
  const lowest = intercept ? 0 : 1
  if (!(Number.isInteger(degree) && degree >= lowest)) {
    throw new StatisticsError('out-of-range', said('degree-impossible', { lowest, degree }), {
      degree,
    })
  }
  if (x.length !== y.length) {
    throw new StatisticsError('length-mismatch', said('values-not-paired', { x: x.length, y: y.length }), {
      x: x.length,
      y: y.length,
    })
  }
  const p = degree - lowest + 1
  const names = Array.from({ length: p }, (_, j) => powerName(j + lowest))
  requireUsable([asDoubles(x)], asDoubles(y), options.weights && asDoubles(options.weights), names)
  requireDistinct(x, options.weights, p, intercept)
  const absolute = options.weightsAre === 'absolute'
  if (x.length * p * p > PRECISE_LIMIT) {
    return longFit(x, y, names, lowest, options)
  }
  const decimal = options.decimal === true
  const { centre, scale } = frameOf(x, intercept)
  return preciseLeastSquares(
    powersOf(toPrecise(x, decimal), centre, scale, lowest, p),
    toPrecise(y, decimal),
    options.weights === undefined ? undefined : toPrecise(options.weights, decimal),
    {
      names,
      aboutMean: intercept,
      tolerance: PRECISE_TOLERANCE,
      absolute,
      transform: backToPowers(p, lowest, centre, scale),
    },
  )
}

function powerName(k: number): string {
  return k === 0 ? 'constant' : k === 1 ? 'x' : `x^${k}`
}

function requireDistinct(
  x: ArrayLike<number>,
  weights: ArrayLike<number> | undefined,
  p: number,
  intercept: boolean,
): void {
  const different = new Set<number>()
  for (let i = 0; i < x.length && different.size < p; i++) {
    const counts = (weights?.[i] ?? 1) > 0 && (intercept || x[i] !== 0)
    if (counts) different.add(at(x, i) + 0)
  }
  if (different.size >= p) return
  const kind = intercept ? 'different x' : 'different x other than 0'
  throw new StatisticsError(
    'rank-deficient',
    said('places-do-not-determine', { places: different.size, kind, p }),
    { differentX: different.size, coefficients: p },
  )
}

/** Centre and power-of-two half-width of x, so that u = (x − c)/s costs no digit. */
function frameOf(x: ArrayLike<number>, intercept: boolean): { centre: number; scale: number } {
  let low = Number.POSITIVE_INFINITY
  let high = Number.NEGATIVE_INFINITY
  for (let i = 0; i < x.length; i++) {
    low = Math.min(low, x[i]!)
    high = Math.max(high, x[i]!)
  }
  const centre = intercept ? low + 0.5 * (high - low) : 0
  const reach = Math.max(high - centre, centre - low)
  return { centre, scale: reach > 0 ? 2 ** Math.round(Math.log2(reach)) : 1 }
}

function powersOf(
  x: PreciseColumn,
  centre: number,
  scale: number,
  lowest: number,
  p: number,
): PreciseColumn[] {
  const n = x.hi.length
  const columns = Array.from({ length: p }, () => ({ hi: new Float64Array(n), lo: new Float64Array(n) }))
  for (let i = 0; i < n; i++) {
    const shifted = subtract(entryAt(x, i), { hi: centre, lo: 0 })
    const u = { hi: shifted.hi / scale, lo: shifted.lo / scale }
    let power: DoubleDouble = lowest === 0 ? { hi: 1, lo: 0 } : u
    for (const column of columns) {
      column.hi[i] = power.hi
      column.lo[i] = power.lo
      power = multiply(power, u)
    }
  }
  return columns
}

/** T[k][j] = C(j, k) (−c)^(j−k) / s^j: powers of u stated in powers of x. */
function backToPowers(p: number, lowest: number, centre: number, scale: number): DoubleDouble[][] {
  const zero: DoubleDouble = { hi: 0, lo: 0 }
  const rows = Array.from({ length: p }, () => new Array<DoubleDouble>(p).fill(zero))
  for (let j = 0; j < p; j++) {
    let entry: DoubleDouble = { hi: (1 / scale) ** (j + lowest), lo: 0 }
    at(rows, j)[j] = entry
    for (let k = j - 1; k >= 0 && centre !== 0; k--) {
      const step = divide(twoProduct(-centre, k + 1), { hi: j - k, lo: 0 })
      entry = multiply(entry, step)
      at(rows, k)[j] = entry
    }
  }
  return rows
}

/** A long record, in doubles: powers of u by columns, carried back to powers of x at the end. */
function longFit(
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  names: readonly string[],
  lowest: number,
  options: PolynomialOptions,
): LeastSquaresFit {
  const p = names.length
  const { centre, scale } = frameOf(x, lowest === 0)
  const columns = Array.from({ length: p }, () => new Float64Array(x.length))
  for (let i = 0; i < x.length; i++) {
    const u = (x[i]! - centre) / scale
    let power = lowest === 0 ? 1 : u
    for (const column of columns) {
      column[i] = power
      power *= u
    }
  }
  const fit = columnLeastSquares(columns, y, options.weights, {
    columnNames: names,
    weightsAre: options.weightsAre ?? 'relative',
    aboutMean: lowest === 0,
  })
  const back = backToPowers(p, lowest, centre, scale)
  const covariance = back.map((a) =>
    back.map(
      (b) =>
        sumOfProducts(
          a,
          fit.covariance.map((row) => sumOfProducts(b, row.map(single))),
        ).hi,
    ),
  )
  return {
    ...fit,
    coefficients: back.map((row) => sumOfProducts(row, fit.coefficients.map(single)).hi),
    covariance,
    standardUncertainties: covariance.map((row, j) => Math.sqrt(Math.max(0, at(row, j)))),
  }
}

function single(value: number): DoubleDouble {
  return { hi: value, lo: 0 }
}
