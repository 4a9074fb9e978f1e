import { at, zip } from '../base/lists.ts'
import { weightedLeastSquares } from '../statistics/least-squares.ts'
import { polynomialFit } from '../statistics/polynomial.ts'
import { prepare } from '../thermometry/convert.ts'
import { exactToSignal } from '../thermometry/exact.ts'
import figures from './figures/thermistor-examples.json' with { type: 'json' }
import { namedNumbers } from './named-numbers.ts'
import { publication } from './publication.ts'

interface Fit {
  powers: number[]
  coefficients: string[]
  standard_uncertainties: number[]
  residual_sd_per_K: number
  fit_minus_t_mK: number[]
}
const row = <T>(start: string) => figures.rows.find(({ id }) => id.startsWith(start)) as unknown as T
const textbook = row<{
  A: number
  B: number
  C: number
  points: { t_C: number; R_ohm_quoted: string; R_ohm_computed: string }[]
}>('typical')
const mgh10 = row<{
  data: [number, number][]
  certified: Record<string, number>
  recomputed: Record<string, string>
}>('NIST StRD')
const fits = [
  row<Fit>('least squares on the MGH10 data, three'),
  row<Fit>('least squares on the MGH10 data, four'),
]
const exactly = row<{
  points: [number, number][]
  A: string
  B: string
  C: string
  check: { R_ohm: number; t_C: number }[]
  inverse_check: { t_C: number; R_ohm: number }[]
}>('exact')
const beta = row<{ R0_ohm: number; t0_C: number; B_K: number; points: { t_C: number; R_ohm: number }[] }>(
  'beta',
)
const cubic = row<{
  data: [number, number][]
  published_residual_sd_C: number
  computed: {
    coefficients: string[]
    standard_uncertainties: number[]
    residual_sd_C: number
    degrees_of_freedom: number
  }
}>('thermistor against')

/** Design rows in powers of ln R for 1/T; T in kelvin, R in ohm. */
const design = (data: readonly (readonly [number, number])[], powers: readonly number[]) => ({
  rows: data.map(([, ohm]) => powers.map((power) => Math.log(ohm) ** power)),
  y: data.map(([t]) => 1 / (t + 273.15)),
})

export const thermistors = publication(
  {
    id: 'thermistor-examples',
    source:
      'J. S. Steinhart and S. R. Hart, Deep-Sea Research 15, 497-503 (1968) (equation); NIST Statistical Reference Datasets, MGH10 (data of R. R. Meyer, 1970); A. Possolo and H. K. Iyer, Rev. Sci. Instrum. 88, 011301 (2017), section VI B 3 and Table II; textbook coefficients of a 3 kΩ thermistor',
    standing: figures.source,
    notChecked: [
      'Two inputs of the budget of Possolo and Iyer (platinum thermometer, cable): they are inputs, not results.',
      'The certified nonlinear fit of MGH10 as a fit: its certified parameters are put back into its residuals.',
    ],
  },
  (check) => {
    const conversion = { kind: 'steinhart-hart' as const, coefficients: [textbook.A, textbook.B, textbook.C] }
    for (const point of textbook.points) {
      check(`textbook thermistor at ${point.t_C} °C`, (f) => {
        const prepared = prepare(conversion)
        const { value } = prepared.toSignal(point.t_C)
        f.relative('R, computed', value, point.R_ohm_computed, 1e-13, 'Ω')
        f.relative('R, quoted', value, point.R_ohm_quoted, 1e-13, 'Ω')
        f.decimals('t back', prepared.toTemperature(Number(point.R_ohm_computed)).value, point.t_C, 11, '°C')
        f.same(
          'R, exact path, first digits',
          exactToSignal(conversion, point.t_C).text?.slice(0, 18),
          String(point.R_ohm_computed).slice(0, 18),
          'Ω',
        )
      })
    }
    check('the equation goes exactly through three points of MGH10', (f) => {
      const { rows, y } = design(exactly.points, [0, 1, 3])
      const { coefficients } = weightedLeastSquares(rows, y)
      for (const [found, name] of zip(coefficients, ['A', 'B', 'C'] as const))
        f.relative(name, found, exactly[name], 1e-11)
      const thermistor = prepare({ kind: 'steinhart-hart', coefficients: [exactly.A, exactly.B, exactly.C] })
      for (const { R_ohm, t_C } of exactly.check)
        f.decimals(`t at ${R_ohm} Ω`, thermistor.toTemperature(R_ohm).value, t_C, 10, '°C')
      for (const { R_ohm, t_C } of exactly.inverse_check)
        f.relative(`R at ${t_C} °C`, thermistor.toSignal(t_C).value, R_ohm, 1e-13, 'Ω')
    })
    for (const fit of fits) {
      check(`MGH10 fitted in powers ${fit.powers.join(', ')} of ln R`, (f) => {
        const { rows, y } = design(mgh10.data, fit.powers)
        const result = weightedLeastSquares(rows, y)
        fit.powers.forEach((power, i) => {
          // Nearly dependent columns: ln R is rounded in its sixteenth digit, and the condition number takes seven.
          f.relative(
            `coefficient of power ${power}`,
            at(result.coefficients, i),
            at(fit.coefficients, i),
            1e-7,
          )
          f.relative(
            `its standard uncertainty`,
            at(result.standardUncertainties, i),
            at(fit.standard_uncertainties, i),
            1e-7,
          )
        })
        f.relative('residual SD', result.residualSd, fit.residual_sd_per_K, 1e-7, '1/K')
        const thermistor = prepare({
          kind: 'steinhart-hart',
          coefficients: fit.coefficients,
          powers: fit.powers,
        })
        mgh10.data.forEach(([t, ohm], i) => {
          f.decimals(
            `residual at ${t} °C`,
            (thermistor.toTemperature(ohm).value - t) * 1000,
            at(fit.fit_minus_t_mK, i),
            6,
            'mK',
          )
        })
      })
    }
    check('MGH10: residuals with the certified parameters', (f) => {
      const certified = namedNumbers(mgh10.certified)
      const [b1, b2, b3] = [certified('b1'), certified('b2'), certified('b3')]
      const degreesOfFreedom = certified('degrees_of_freedom')
      const model = (t: number) => b1 * Math.exp(b2 / (t + b3))
      const residuals = mgh10.data.map(([t, ohm]) => ohm - model(t))
      const sum = residuals.reduce((total, r) => total + r ** 2, 0)
      // The parameters are printed with eleven digits; the sum is at its minimum in them.
      f.relative('residual sum of squares', sum, certified('residual_sum_of_squares'), 1e-9)
      f.same('degrees of freedom', mgh10.data.length - 3, degreesOfFreedom)
      f.relative('residual SD', Math.sqrt(sum / degreesOfFreedom), certified('residual_sd'), 1e-9)
      for (const name of ['b1', 'b2', 'b3', 'residual_sum_of_squares'])
        f.relative(`${name}, recomputed`, Number(mgh10.recomputed[name]), certified(name), 2e-11)
      const rows = mgh10.data.map(([t]) => [
        model(t) / b1,
        model(t) / (t + b3),
        (-model(t) * b2) / (t + b3) ** 2,
      ])
      const { standardUncertainties } = weightedLeastSquares(rows, residuals)
      for (const [found, name] of zip(standardUncertainties, ['b1', 'b2', 'b3']))
        f.relative(`standard deviation of ${name}`, found, certified(`sd_${name}`), 1e-6)
    })
    for (const { t_C, R_ohm } of beta.points) {
      check(`beta equation at ${t_C} °C`, (f) => {
        const prepared = prepare({ kind: 'beta', r0: beta.R0_ohm, t0: beta.t0_C, beta: beta.B_K })
        f.relative('R', prepared.toSignal(t_C).value, R_ohm, 1e-14, 'Ω')
        f.decimals('t back', prepared.toTemperature(R_ohm).value, t_C, 11, '°C')
      })
    }
    check('published cubic of a thermistor against a platinum thermometer', (f) => {
      const fit = polynomialFit(
        cubic.data.map(([t]) => t),
        cubic.data.map(([, y]) => y),
        3,
      )
      const { coefficients, standard_uncertainties, residual_sd_C, degrees_of_freedom } = cubic.computed
      coefficients.forEach((figure, i) => {
        f.relative(`coefficient ${i}`, at(fit.coefficients, i), figure, 1e-9)
        f.relative(
          `its standard uncertainty`,
          at(fit.standardUncertainties, i),
          at(standard_uncertainties, i),
          1e-9,
        )
      })
      f.relative('residual SD, computed', fit.residualSd, residual_sd_C, 1e-10, '°C')
      f.decimals('residual SD', fit.residualSd, cubic.published_residual_sd_C, 3, '°C')
      f.same('degrees of freedom', fit.degreesOfFreedom, degrees_of_freedom)
      const prepared = prepare({ kind: 'polynomial', coefficients, range: [15, 45] })
      for (const [t, y] of cubic.data) f.near(`t at ${t}`, prepared.toTemperature(t).value, y, 0.03, '°C')
    })
  },
)
