/**
 * NIST/ITL Statistical Reference Datasets (StRD): univariate summary statistics and linear regression.
 *
 * The figures are in figures/nist-strd.json and figures/nist-strd-more.json, whose notes say where each was read; every
 * certified value there was recomputed with exact fractions. Not checked: PiDigits (its 5000 values were not at hand in
 * a form to copy), the nonlinear sets and the analyses of variance (nothing of that kind is computed here), and the
 * certified F statistic and sums of squares, of which the residual sum is checked as chi-squared.
 *
 * Digits reached are the log relative error. NIST prints 15 digits, which is 14.3 by that measure where the first of
 * them is a 1. With every number taken as the decimal that is printed, every set (Filip and Longley too) agrees with all
 * printed digits, and to 15 digits or more with the certified values recomputed exactly: in every coefficient, standard
 * deviation of a coefficient and residual standard deviation. Taken as the nearest double, the data themselves are off
 * in the sixteenth digit, and the sets keep the digits stated in `asDoubles`.
 */
import { describe, expect, it } from 'vitest'
import { fitSeries } from '../../app/fit/fit-request.ts'
import { describeSeries } from '../../app/statistics/describe-request.ts'
import { weightedLeastSquares } from '../../app/statistics/least-squares.ts'
import { polynomialFit } from '../../app/statistics/polynomial.ts'
import { describeWindow } from '../../app/statistics/window.ts'
import first from './figures/nist-strd.json' with { type: 'json' }
import more from './figures/nist-strd-more.json' with { type: 'json' }

interface Univariate {
  dataset: string
  kind: 'univariate'
  data?: number[]
  certified: { mean: number; sd_n_minus_1: number; autocorrelation_lag_1: number }
}
interface Regression {
  dataset: string
  kind: 'linear least squares'
  data: number[][]
  parameters: number
  n: number
  certified: {
    B: number[]
    sd_of_B: number[]
    residual_sd?: number
    r_squared: number
    residual_sum_of_squares?: number
    residual_degrees_of_freedom?: number
  }
  recomputed_exactly: { B: number[]; sd_of_B: number[]; residual_sd: number }
}

const rows = [...first.rows, ...more.rows] as unknown as (Univariate | Regression)[]
const univariate = rows.filter((row): row is Univariate => row.kind === 'univariate')
const regressions = rows.filter((row): row is Regression => row.kind === 'linear least squares')

/** NIST's own measure of agreement; 15 where equal, absolute where the certified value is 0. */
function digits(found: number, certified: number): number {
  if (found === certified) return 15
  const error = certified === 0 ? Math.abs(found) : Math.abs(found / certified - 1)
  return Math.min(15, -Math.log10(error))
}
/** Half a unit in the fifteenth digit of a number that begins with 1. */
const PRINTED = 14.3
const fewest = (found: readonly number[], certified: readonly number[]) =>
  Math.min(...found.map((value, i) => digits(value, certified[i]!)))

/** Digits kept when the data are taken as the nearest doubles. */
const asDoubles: Readonly<Record<string, number>> = {
  Norris: 13.5,
  Pontius: 13,
  NoInt1: 14.5,
  NoInt2: 14.5,
  Longley: 14.3,
  Filip: 14,
  Wampler1: 14.5,
  Wampler2: 12.8,
  Wampler3: 14.5,
  Wampler4: 14.5,
  Wampler5: 14.5,
}

const valuesOf = (row: Univariate): number[] =>
  row.data ?? [10000000.2, ...Array.from({ length: 500 }, () => [10000000.1, 10000000.3]).flat()]

describe('describeSeries on the univariate sets', () => {
  it.each(univariate.map((row) => [row.dataset, row] as const))('reaches 15 digits on %s', (_, row) => {
    const { mean, sd, lag1 } = describeSeries({ values: valuesOf(row) })
    const { certified } = row
    expect(digits(mean, certified.mean)).toBeGreaterThanOrEqual(14.8)
    expect(digits(sd, certified.sd_n_minus_1)).toBeGreaterThanOrEqual(14.8)
    expect(digits(lag1, certified.autocorrelation_lag_1)).toBeGreaterThanOrEqual(14.8)
  })
  it('covers every set but PiDigits', () => {
    expect(univariate.map(({ dataset }) => dataset).sort()).toEqual(
      ['Lew', 'Lottery', 'Mavro', 'Michelso', 'NumAcc1', 'NumAcc2', 'NumAcc3', 'NumAcc4'].sort(),
    )
  })
})

describe('describeWindow on nearest doubles', () => {
  it('loses only what the doubles themselves have lost: 8 digits of the spread on NumAcc4', () => {
    const row = univariate.find(({ dataset }) => dataset === 'NumAcc4')!
    const { sd } = describeWindow(valuesOf(row), 1)
    expect(digits(sd, 0.1)).toBeGreaterThan(8)
    expect(digits(sd, 0.1)).toBeLessThan(10)
  })
})

const degrees: Readonly<Record<string, number>> = {
  Norris: 1,
  Pontius: 2,
  NoInt1: 1,
  NoInt2: 1,
  Filip: 10,
  Wampler1: 5,
  Wampler2: 5,
  Wampler3: 5,
  Wampler4: 5,
  Wampler5: 5,
}

describe('fitSeries on the linear regression sets', () => {
  it.each(regressions.map((row) => [row.dataset, row] as const))(
    'reaches 14.5 of 15 digits on %s',
    (_, row) => {
      const { dataset, data, certified } = row
      const y = data.map((point) => point[0]!)
      const degree = degrees[dataset]
      const fit = fitSeries(
        degree === undefined
          ? { x: data.map((point) => point.slice(1)), y, model: { kind: 'linear' } }
          : {
              x: data.map((point) => point[1]!),
              y,
              model: { kind: 'polynomial', degree, intercept: !dataset.startsWith('NoInt') },
            },
      )
      const { recomputed_exactly: exact } = row
      expect(fewest(fit.coefficients as number[], certified.B)).toBeGreaterThanOrEqual(PRINTED)
      expect(fewest(fit.coefficients as number[], exact.B)).toBeGreaterThanOrEqual(15)
      expect(fewest(fit.standardUncertainties as number[], certified.sd_of_B)).toBeGreaterThanOrEqual(PRINTED)
      expect(fewest(fit.standardUncertainties as number[], exact.sd_of_B)).toBeGreaterThanOrEqual(15)
      expect(digits(fit.residualSd, exact.residual_sd)).toBeGreaterThanOrEqual(15)
      expect(digits(fit.rSquared, certified.r_squared)).toBeGreaterThanOrEqual(PRINTED)
      if (certified.residual_sd !== undefined) {
        expect(digits(fit.residualSd, certified.residual_sd)).toBeGreaterThanOrEqual(PRINTED)
      }
      if (certified.residual_sum_of_squares !== undefined) {
        expect(digits(fit.chiSquared, certified.residual_sum_of_squares)).toBeGreaterThanOrEqual(PRINTED)
      }
      if (certified.residual_degrees_of_freedom !== undefined) {
        expect(fit.degreesOfFreedom).toBe(certified.residual_degrees_of_freedom)
      }
      expect(y).toHaveLength(row.n)
      expect(fit.coefficientNames).toHaveLength(row.parameters)
    },
  )
  it('covers the eleven sets', () => {
    expect(regressions.map(({ dataset }) => dataset).sort()).toEqual(Object.keys(asDoubles).sort())
  })
})

describe('polynomialFit and weightedLeastSquares on nearest doubles', () => {
  it.each(regressions.map((row) => [row.dataset, row] as const))('keep the stated digits on %s', (_, row) => {
    const { dataset, data, certified } = row
    const y = data.map((point) => point[0]!)
    const degree = degrees[dataset]
    const fit =
      degree === undefined
        ? weightedLeastSquares(
            data.map((point) => [1, ...point.slice(1)]),
            y,
          )
        : polynomialFit(
            data.map((point) => point[1]!),
            y,
            degree,
            { intercept: !dataset.startsWith('NoInt') },
          )
    expect(fewest(fit.coefficients, certified.B)).toBeGreaterThanOrEqual(asDoubles[dataset]!)
  })
})
