import { at, columnOf, needed } from '../base/lists.ts'
import { fitSeries } from '../fit/fit-request.ts'
import { describeSeries } from '../statistics/describe-request.ts'
import { weightedLeastSquares } from '../statistics/least-squares.ts'
import { polynomialFit } from '../statistics/polynomial.ts'
import { describeWindow } from '../statistics/window.ts'
import first from './figures/nist-strd.json' with { type: 'json' }
import more from './figures/nist-strd-more.json' with { type: 'json' }
import { publication } from './publication.ts'

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

/** Half a unit in the fifteenth digit of a number that begins with 1. */
const PRINTED = 14.3

/** Digits kept when the data are taken as the nearest doubles: they are off in the sixteenth digit themselves. */
const AS_DOUBLES: Readonly<Record<string, number>> = {
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
const DEGREES: Readonly<Record<string, number>> = {
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

const valuesOf = (row: Univariate): number[] =>
  row.data ?? [10000000.2, ...Array.from({ length: 500 }, () => [10000000.1, 10000000.3]).flat()]

function fitOf({ dataset, data }: Regression) {
  const y = columnOf(data, 0)
  const degree = DEGREES[dataset]
  return fitSeries(
    degree === undefined
      ? { x: data.map((point) => point.slice(1)), y, model: { kind: 'linear' } }
      : {
          x: columnOf(data, 1),
          y,
          model: { kind: 'polynomial', degree, intercept: !dataset.startsWith('NoInt') },
        },
  )
}

function plainFitOf({ dataset, data }: Regression) {
  const y = columnOf(data, 0)
  const degree = DEGREES[dataset]
  return degree === undefined
    ? weightedLeastSquares(
        data.map((point) => [1, ...point.slice(1)]),
        y,
      )
    : polynomialFit(columnOf(data, 1), y, degree, { intercept: !dataset.startsWith('NoInt') })
}

export const strd = publication(
  {
    id: 'nist-strd',
    source:
      'NIST/ITL Statistical Reference Datasets (StRD): univariate summary statistics and linear regression',
    standing: `${first.how_obtained} Agreement is the log relative error, NIST's own measure: 15 printed digits are 14.3 by it where the first of them is a 1.`,
    notChecked: [
      'PiDigits: its 5000 values were not at hand in a form to copy.',
      'The nonlinear sets and the analyses of variance: nothing of that kind is computed here.',
      'The certified F statistic and regression sum of squares: no command reports them; the residual sum is checked as chi-squared.',
    ],
  },
  (check) => {
    for (const row of univariate) {
      check(`${row.dataset}: mean, standard deviation and autocorrelation`, (f) => {
        const { mean, sd, lag1 } = describeSeries({ values: valuesOf(row) })
        f.digits('mean', mean, row.certified.mean, 14.8)
        f.digits('standard deviation', sd, row.certified.sd_n_minus_1, 14.8)
        f.digits('autocorrelation, lag 1', lag1, row.certified.autocorrelation_lag_1, 14.8)
      })
    }
    check('every univariate set but PiDigits', (f) => {
      f.same('sets', univariate.map(({ dataset }) => dataset).sort(), [
        'Lew',
        'Lottery',
        'Mavro',
        'Michelso',
        'NumAcc1',
        'NumAcc2',
        'NumAcc3',
        'NumAcc4',
      ])
    })
    check('NumAcc4 in nearest doubles loses only what the doubles themselves have lost', (f) => {
      const row = needed(
        univariate.find(({ dataset }) => dataset === 'NumAcc4'),
        'NumAcc4',
      )
      f.digits('standard deviation', describeWindow(valuesOf(row), 1).sd, 0.1, 8)
    })
    for (const row of regressions) {
      const { dataset, certified, recomputed_exactly: exact } = row
      check(`${dataset}: coefficients, their standard deviations, residuals`, (f) => {
        const fit = fitOf(row)
        const u = fit.standardUncertainties as number[]
        ;(fit.coefficients as number[]).forEach((b, i) => {
          f.digits(`B${i}`, b, at(certified.B, i), PRINTED)
          f.digits(`B${i}, recomputed exactly`, b, at(exact.B, i), 15)
          f.digits(`s(B${i})`, at(u, i), at(certified.sd_of_B, i), PRINTED)
          f.digits(`s(B${i}), recomputed exactly`, at(u, i), at(exact.sd_of_B, i), 15)
        })
        f.digits('residual SD, recomputed exactly', fit.residualSd, exact.residual_sd, 15)
        f.digits('R²', fit.rSquared, certified.r_squared, PRINTED)
        if (certified.residual_sd !== undefined)
          f.digits('residual SD', fit.residualSd, certified.residual_sd, PRINTED)
        if (certified.residual_sum_of_squares !== undefined)
          f.digits('residual sum of squares', fit.chiSquared, certified.residual_sum_of_squares, PRINTED)
        if (certified.residual_degrees_of_freedom !== undefined)
          f.same('degrees of freedom', fit.degreesOfFreedom, certified.residual_degrees_of_freedom)
        f.same('observations', row.data.length, row.n)
        f.same('parameters', fit.coefficientNames.length, row.parameters)
      })
      check(`${dataset} in nearest doubles keeps the stated digits`, (f) => {
        const digits = needed(AS_DOUBLES[dataset], `stated number of digits of ${dataset}`)
        plainFitOf(row).coefficients.forEach((b, i) => {
          f.digits(`B${i}`, b, at(certified.B, i), digits)
        })
      })
    }
    check('the eleven regression sets', (f) => {
      f.same('sets', regressions.map(({ dataset }) => dataset).sort(), Object.keys(AS_DOUBLES).sort())
    })
  },
)
