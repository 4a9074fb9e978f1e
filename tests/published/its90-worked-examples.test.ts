/**
 * NIST Special Publication 250-81 (2008), sample calibration results (two rows), and thermometers computed with 60
 * digits from the scale's own text (The International Temperature Scale of 1990, Metrologia 27, 3-10 and 107 (1990)) for
 * each of the eleven subranges and for two least-squares fits.
 *
 * The printed deviations of the sample agree with the deviation function evaluated at the reference ratio Wr. The scale
 * takes the measured ratio W as argument; the two differ by up to 7.2e-8 (22 microkelvin at aluminium). Both are checked.
 */
import { describe, expect, it } from 'vitest'
import { fitThermometer } from '../../app/fit/fit.ts'
import type { Its90Conversion, Its90Section } from '../../app/records/conversion.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import { decimal } from '../../app/thermometry/decimal.ts'
import { exactToSignal, exactToTemperature } from '../../app/thermometry/exact.ts'
import {
  type Coefficients,
  deviationFunction,
  impliedAluminiumRatio,
} from '../../app/thermometry/its90-deviation.ts'
import { referenceRatio } from '../../app/thermometry/its90-reference.ts'
import { subrange } from '../../app/thermometry/its90-subranges.ts'
import figures from './figures/its90-worked-examples.json' with { type: 'json' }

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
const fits = starting('lsq') as unknown as LeastSquares[]
const silver = starting('high')[0] as unknown as {
  fixed_points: { t90_C: number; W: number }[]
  coefficients_computed: Record<'a' | 'b' | 'c' | 'd', string>
  'W_at_660.323_C': number
}
const relative = (value: number, figure: number | string) => Math.abs(value / Number(figure) - 1)

describe('deviationFunction, against the sample results of NIST SP 250-81', () => {
  const cases = samples.flatMap(({ section, coefficients, points }) =>
    points.map((point) => ({ section, coefficients, ...point })),
  )
  it.each(cases)('gives the printed deviation of $section at $t90_C degC when the argument is Wr', (row) => {
    const { value } = deviationFunction(subrange(row.section), row.coefficients)
    // The sample's rows at 0 degC below and above use the function of their own side.
    const wr = Number(row.W_computed) - row.dW_at_W_computed
    expect(Math.abs(value(wr) - row.dW_published)).toBeLessThan(0.51e-9)
    expect(value(wr)).toBeCloseTo(row.dW_at_Wr_computed, 13)
  })

  it.each(cases)(
    'gives another deviation of $section at $t90_C degC by the scale, whose argument is W',
    (row) => {
      const conversion: Its90Conversion = {
        kind: 'its90',
        subrange: row.section,
        coefficients: row.coefficients,
      }
      const w = prepare(conversion).toSignal(row.t90_C).value
      expect(relative(w, row.W_computed)).toBeLessThan(5e-15)
      const { value } = deviationFunction(subrange(row.section), row.coefficients)
      expect(value(w)).toBeCloseTo(row.dW_at_W_computed, 13)
    },
  )
})

describe('fitThermometer, its90', () => {
  /** The fit sees ratios: a thermometer whose R(WTP) is 1 ohm. */
  const fitOf = (section: string, points: readonly (readonly [t90: number, w: number])[]) =>
    fitThermometer({
      model: { kind: 'its90', subrange: section, rWtp: 1 },
      points: points.map(([t90C, w]) => ({ t90C, signal: w })),
    })

  it('finds a, b, c from tin, zinc and aluminium and d from silver', () => {
    const { coefficients, conversion, equation } = fitOf(
      '3.3.2',
      silver.fixed_points.map(({ t90_C, W }) => [t90_C, W]),
    )
    for (const name of ['a', 'b', 'c', 'd'] as const) {
      // Eight decimals of W leave rounding of double in the seventh digit of the deviation: 1e-11 of the coefficient.
      expect(relative(coefficients[name]!, silver.coefficients_computed[name])).toBeLessThan(1e-10)
    }
    expect(conversion).toMatchObject({ wAluminium: silver['W_at_660.323_C'] })
    for (const residual of equation.residuals) expect(Math.abs(residual)).toBeLessThan(1e-15)
  })

  it.each(fits)('gives the coefficients, uncertainties and residuals of $id', (row) => {
    const fit = fitOf(row.section, row.data)
    const { names, covariance, equation } = fit
    names.forEach((name, i) => {
      // The low function is good to 8e-16 near 1 in doubles; the deviations are of the order of 1e-6.
      expect(relative(fit.coefficients[name]!, row.coefficients[name]!)).toBeLessThan(5e-9)
      expect(relative(fit.standardUncertainties[i]!, row.standard_uncertainties[name]!)).toBeLessThan(5e-9)
      names.forEach((_, j) => {
        const correlation = covariance[i]![j]! / Math.sqrt(covariance[i]![i]! * covariance[j]![j]!)
        expect(correlation).toBeCloseTo(row.correlation[i]![j]!, 9)
      })
    })
    expect(relative(equation.residualSd, row.residual_sd_in_W)).toBeLessThan(1e-9)
    expect(fit.degreesOfFreedom).toBe(row.degrees_of_freedom)
    equation.residuals.forEach((residual, i) => {
      expect(Math.abs(residual - row.residuals_in_W[i]!)).toBeLessThan(2e-15)
    })
  })
})

describe('prepare, its90', () => {
  const conversionOf = ({ section, coefficients, R_TPW_ohm }: Thermometer): Its90Conversion => ({
    kind: 'its90',
    rWtp: R_TPW_ohm,
    subrange: section,
    coefficients,
  })
  const cases = thermometers.flatMap((thermometer) =>
    thermometer.points.map((point) => ({ ...point, id: thermometer.id, thermometer })),
  )

  it('has a computed thermometer for each of the eleven subranges', () => {
    expect(new Set(thermometers.map(({ section }) => section)).size).toBe(11)
  })

  it.each(cases)('gives W, R and dR/dT of $id at $t90_C degC', (row) => {
    const prepared = prepare(conversionOf(row.thermometer))
    const ratio = prepared.toSignal(row.t90_C, { quantity: 'ratio' })
    const resistance = prepared.toSignal(row.t90_C)
    // Below 20 K a last-place error of t90 in degC weighs some 1e-13 of W.
    expect(relative(ratio.value, row.W)).toBeLessThan(row.t90_C < -250 ? 1e-12 : 1e-14)
    expect(relative(resistance.value, row.R_ohm)).toBeLessThan(row.t90_C < -250 ? 1e-12 : 1e-14)
    expect(relative(resistance.dValueDInput, row.dR_dT_ohm_per_K)).toBeLessThan(1e-10)
    const wr = Number(row.W) - row.W_minus_Wr
    expect(relative(wr, row.Wr)).toBeLessThan(1e-9)
    expect(ratio.marks).toEqual([])
  })

  it.each(cases)('gives back the temperature of $id at $t90_C degC', (row) => {
    const prepared = prepare(conversionOf(row.thermometer))
    const byResistance = prepared.toTemperature(Number(row.R_ohm))
    expect(Math.abs(byResistance.value - row.t90_C)).toBeLessThan(2e-11)
    expect(byResistance.marks).toEqual([])
    expect(relative(byResistance.dValueDInput, 1 / row.dR_dT_ohm_per_K)).toBeLessThan(1e-9)
    expect(
      Math.abs(prepared.toTemperature(Number(row.W), { quantity: 'ratio' }).value - row.t90_C),
    ).toBeLessThan(2e-11)
  })

  it.each(cases)('keeps twenty digits of W and R of $id at $t90_C degC on the exact path', (row) => {
    const conversion = conversionOf(row.thermometer)
    const sameDigits = (text: string, figure: string | number) => {
      // The figures have twenty digits.
      expect(decimal(text).div(figure).minus(1).abs().toNumber()).toBeLessThan(1e-19)
    }
    sameDigits(exactToSignal(conversion, row.t90_C, { quantity: 'ratio' }).text!, row.W)
    sameDigits(exactToSignal(conversion, row.t90_C).text!, row.R_ohm)
    const back = exactToTemperature(conversion, exactToSignal(conversion, row.t90_C).text!)
    expect(Math.abs(Number(back.text) - row.t90_C)).toBeLessThan(1e-12)
  })

  it('implies W(660.323 degC) from a, b and c where it is not given', () => {
    const thermometer = thermometers.find(({ section }) => section === '3.3.2')!
    expect(
      relative(impliedAluminiumRatio(thermometer.coefficients), thermometer['W_at_660.323_C']!),
    ).toBeLessThan(1e-15)
  })

  it('uses the low reference function below 273.16 K and the high one from there in 3.3.3', () => {
    const thermometer = thermometers.find(({ section }) => section === '3.3.3')!
    for (const { t90_C, Wr } of thermometer.points) {
      expect(relative(referenceRatio(t90_C), Wr)).toBeLessThan(1e-14)
    }
  })
})
