import { at, needed, zip } from '../base/lists.ts'
import { fitThermometer } from '../fit/fit.ts'
import type { Its90Conversion, Its90Section } from '../kinds/conversion.ts'
import { prepare } from '../thermometry/convert.ts'
import { decimal } from '../thermometry/decimal.ts'
import { exactToSignal, exactToTemperature } from '../thermometry/exact.ts'
import {
  type Coefficients,
  deviationFunction,
  impliedAluminiumRatio,
} from '../thermometry/its90-deviation.ts'
import { referenceRatio } from '../thermometry/its90-reference.ts'
import { subrange } from '../thermometry/its90-subranges.ts'
import figures from './figures/its90-worked-examples.json' with { type: 'json' }
import type { Figures } from './figures.ts'
import { namedNumbers } from './named-numbers.ts'
import { publication } from './publication.ts'

interface Sample {
  id: string
  section: Its90Section
  coefficients: Coefficients
  points: {
    t90_C: number
    dW_published: number
    dW_at_Wr_computed: number
    dW_at_W_computed: number
    W_computed: string
  }[]
}
interface Thermometer {
  id: string
  section: Its90Section
  R_TPW_ohm: number
  coefficients: Coefficients
  'W_at_660.323_C'?: string
  points: {
    t90_C: number
    Wr: string
    W: string
    W_minus_Wr: number
    R_ohm: string
    dR_dT_ohm_per_K: number
  }[]
}
interface LeastSquares {
  id: string
  section: Its90Section
  data: [t90: number, w: number][]
  coefficients: Record<string, string>
  standard_uncertainties: Record<string, string>
  correlation: number[][]
  residual_sd_in_W: string
  degrees_of_freedom: number
  residuals_in_W: number[]
}
const rows = figures.rows as unknown as { id: string }[]
const starting = (start: string) => rows.filter(({ id }) => id.startsWith(start))
const samples = starting('NIST') as unknown as Sample[]
const thermometers = starting('calc') as unknown as Thermometer[]
const thermometerOf = (section: Its90Section) =>
  needed(
    thermometers.find((thermometer) => thermometer.section === section),
    `thermometer of ${section}`,
  )
const fits = starting('lsq') as unknown as LeastSquares[]
const silver = starting('high')[0] as unknown as {
  fixed_points: { t90_C: number; W: number }[]
  coefficients_computed: Record<'a' | 'b' | 'c' | 'd', string>
  'W_at_660.323_C': number
}

/** The fit sees ratios: a thermometer whose R(WTP) is 1 ohm. */
const fitOf = (section: string, points: readonly (readonly [t90: number, w: number])[]) =>
  fitThermometer({
    model: { kind: 'its90', subrange: section, rWtp: 1 },
    points: points.map(([t90C, w]) => ({ t90C, signal: w })),
  })

const conversionOf = ({ section, coefficients, R_TPW_ohm }: Thermometer): Its90Conversion => ({
  kind: 'its90',
  rWtp: R_TPW_ohm,
  subrange: section,
  coefficients,
})

function thermometerAt(f: Figures, thermometer: Thermometer, row: Thermometer['points'][number]): void {
  const conversion = conversionOf(thermometer)
  const prepared = prepare(conversion)
  const ratio = prepared.toSignal(row.t90_C, { quantity: 'ratio' })
  const resistance = prepared.toSignal(row.t90_C)
  // Below 20 K a last-place error of t90 in degC weighs some 1e-13 of W.
  const limit = row.t90_C < -250 ? 1e-12 : 1e-14
  f.relative('W', ratio.value, row.W, limit)
  f.relative('R', resistance.value, row.R_ohm, limit, 'Ω')
  f.relative('dR/dT', resistance.dValueDInput, row.dR_dT_ohm_per_K, 1e-10, 'Ω/K')
  f.relative('W - ΔW', Number(row.W) - row.W_minus_Wr, row.Wr, 1e-9)
  f.same('marks', ratio.marks, [])
  const byResistance = prepared.toTemperature(Number(row.R_ohm))
  f.near('t90 from R', byResistance.value, row.t90_C, 2e-11, '°C')
  f.same('marks back', byResistance.marks, [])
  f.relative('dT/dR', byResistance.dValueDInput, 1 / row.dR_dT_ohm_per_K, 1e-9, 'K/Ω')
  f.near(
    't90 from W',
    prepared.toTemperature(Number(row.W), { quantity: 'ratio' }).value,
    row.t90_C,
    2e-11,
    '°C',
  )
  // The figures have twenty digits.
  const exactly = (what: string, text: string, figure: string | number) =>
    f.near(what, decimal(text).div(figure).minus(1).toNumber(), 0, 1e-19, 'relative')
  const exactSignal = (options?: { quantity: 'ratio' }) =>
    needed(exactToSignal(conversion, row.t90_C, options).text, 'exact signal')
  exactly('W, exact path', exactSignal({ quantity: 'ratio' }), row.W)
  exactly('R, exact path', exactSignal(), row.R_ohm)
  const back = exactToTemperature(conversion, exactSignal())
  f.near('t90, exact path', Number(back.text), row.t90_C, 1e-12, '°C')
}

export const its90Examples = publication(
  {
    id: 'its90-worked-examples',
    source:
      'NIST Special Publication 250-81 (2008), sample calibration results; thermometers computed from the text of The International Temperature Scale of 1990, Metrologia 27, 3-10 and 107 (1990), for each of the eleven subranges and two least-squares fits',
    standing: `${figures.source}. The printed deviations of the sample agree with the deviation function at the reference ratio Wr. The scale takes the measured ratio W as its argument; the two differ by up to 7.2e-8 (22 µK at aluminium). The program follows the scale; both are checked.`,
    notChecked: [],
  },
  (check) => {
    for (const { id, section, coefficients, points } of samples) {
      for (const row of points) {
        check(`${id}: deviation of ${section} at ${row.t90_C} °C`, (f) => {
          const { value } = deviationFunction(subrange(section), coefficients)
          // The sample's rows at 0 degC below and above use the function of their own side.
          const wr = Number(row.W_computed) - row.dW_at_W_computed
          f.near('ΔW at Wr, printed', value(wr), row.dW_published, 0.51e-9)
          f.decimals('ΔW at Wr, computed', value(wr), row.dW_at_Wr_computed, 13)
          const conversion: Its90Conversion = { kind: 'its90', subrange: section, coefficients }
          const w = prepare(conversion).toSignal(row.t90_C).value
          f.relative('W by the scale', w, row.W_computed, 5e-15)
          f.decimals('ΔW at W', value(w), row.dW_at_W_computed, 13)
        })
      }
    }
    check('a, b, c from tin, zinc and aluminium and d from silver', (f) => {
      const { coefficients, conversion, equation } = fitOf(
        '3.3.2',
        silver.fixed_points.map(({ t90_C, W }) => [t90_C, W]),
      )
      const own = namedNumbers(coefficients)
      for (const name of ['a', 'b', 'c', 'd'] as const) {
        // Eight decimals of W leave rounding of double in the seventh digit of the deviation: 1e-11 of the coefficient.
        f.relative(name, own(name), silver.coefficients_computed[name], 1e-10)
      }
      f.same('W(Al)', (conversion as Its90Conversion).wAluminium, silver['W_at_660.323_C'])
      equation.residuals.forEach((residual, i) => {
        f.atMost(`residual ${i + 1}`, residual, 1e-15)
      })
    })
    for (const row of fits) {
      check(`least squares, ${row.id}`, (f) => {
        const { names, covariance, equation, coefficients, standardUncertainties, degreesOfFreedom } = fitOf(
          row.section,
          row.data,
        )
        const own = namedNumbers(coefficients)
        names.forEach((name, i) => {
          const variances = at(covariance, i)
          // The low function is good to 8e-16 near 1 in doubles; the deviations are of the order of 1e-6.
          f.relative(name, own(name), needed(row.coefficients[name], name), 5e-9)
          f.relative(
            `u(${name})`,
            at(standardUncertainties, i),
            needed(row.standard_uncertainties[name], `u(${name})`),
            5e-9,
          )
          names.forEach((other, j) => {
            const r = at(variances, j) / Math.sqrt(at(variances, i) * at(at(covariance, j), j))
            f.decimals(`r(${name}, ${other})`, r, at(at(row.correlation, i), j), 9)
          })
        })
        f.relative('residual SD', equation.residualSd, row.residual_sd_in_W, 1e-9)
        f.same('degrees of freedom', degreesOfFreedom, row.degrees_of_freedom)
        for (const [i, [residual, printed]] of zip(equation.residuals, row.residuals_in_W).entries())
          f.near(`residual ${i + 1}`, residual, printed, 2e-15)
      })
    }
    check('a computed thermometer for each of the eleven subranges', (f) => {
      f.same('subranges', new Set(thermometers.map(({ section }) => section)).size, 11)
    })
    for (const thermometer of thermometers) {
      for (const row of thermometer.points) {
        check(`${thermometer.id} at ${row.t90_C} °C: W, R, dR/dT and the temperature back`, (f) =>
          thermometerAt(f, thermometer, row),
        )
      }
    }
    check('W(660.323 °C) follows from a, b and c where it is not given', (f) => {
      const thermometer = thermometerOf('3.3.2')
      f.relative(
        'W(Al)',
        impliedAluminiumRatio(thermometer.coefficients),
        needed(thermometer['W_at_660.323_C'], 'W(660.323 °C)'),
        1e-15,
      )
    })
    check('3.3.3 uses the low reference function below 273.16 K and the high one from there', (f) => {
      const thermometer = thermometerOf('3.3.3')
      for (const { t90_C, Wr } of thermometer.points)
        f.relative(`Wr at ${t90_C} °C`, referenceRatio(t90_C), Wr, 1e-14)
    })
  },
)
