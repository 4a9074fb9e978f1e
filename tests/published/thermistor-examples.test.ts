/**
 * Thermistors: textbook coefficients of a 3 kilohm thermistor; NIST Statistical Reference Datasets, MGH10 (data of
 * R. R. Meyer, 1970); A. Possolo and H. K. Iyer, Rev. Sci. Instrum. 88, 011301 (2017), section VI B 3 and Table II.
 * Equation: J. S. Steinhart and S. R. Hart, Deep-Sea Research 15, 497-503 (1968). Fits of MGH10 in powers of ln R, the
 * exact solution and the beta equation are computed with 60 digits.
 * Not checked: published_u_platinum_C and published_u_cable_C, which are inputs of that paper's budget, not results.
 * The certified fit of MGH10 is nonlinear; here its certified parameters are put back into its residuals.
 */
import { describe, expect, it } from 'vitest'
import { weightedLeastSquares } from '../../app/statistics/least-squares.ts'
import { polynomialFit } from '../../app/statistics/polynomial.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import { exactToSignal } from '../../app/thermometry/exact.ts'
import figures from './figures/thermistor-examples.json' with { type: 'json' }

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
const relative = (value: number, figure: number | string) => Math.abs(value / Number(figure) - 1)

/** Design rows in powers of ln R for 1/T; T in kelvin, R in ohm. */
const design = (data: readonly (readonly [number, number])[], powers: readonly number[]) => ({
  rows: data.map(([, ohm]) => powers.map((power) => Math.log(ohm) ** power)),
  y: data.map(([t]) => 1 / (t + 273.15)),
})

describe('prepare, steinhart-hart', () => {
  const conversion = { kind: 'steinhart-hart' as const, coefficients: [textbook.A, textbook.B, textbook.C] }
  const prepared = prepare(conversion)

  it.each(textbook.points)(
    'gives the textbook resistance at $t_C degC, and the temperature back',
    (point) => {
      const { value } = prepared.toSignal(point.t_C)
      expect(relative(value, point.R_ohm_computed)).toBeLessThan(1e-13)
      expect(relative(value, point.R_ohm_quoted)).toBeLessThan(1e-13)
      expect(prepared.toTemperature(Number(point.R_ohm_computed)).value).toBeCloseTo(point.t_C, 11)
      expect(exactToSignal(conversion, point.t_C).text!.slice(0, 18)).toBe(
        String(point.R_ohm_computed).slice(0, 18),
      )
    },
  )

  it('goes exactly through three points of MGH10', () => {
    const { rows, y } = design(exactly.points, [0, 1, 3])
    const { coefficients } = weightedLeastSquares(rows, y)
    expect(relative(coefficients[0]!, exactly.A)).toBeLessThan(1e-11)
    expect(relative(coefficients[1]!, exactly.B)).toBeLessThan(1e-11)
    expect(relative(coefficients[2]!, exactly.C)).toBeLessThan(1e-11)
    const thermistor = prepare({ kind: 'steinhart-hart', coefficients: [exactly.A, exactly.B, exactly.C] })
    for (const { R_ohm, t_C } of exactly.check) {
      expect(thermistor.toTemperature(R_ohm).value).toBeCloseTo(t_C, 10)
    }
    for (const { R_ohm, t_C } of exactly.inverse_check) {
      expect(relative(thermistor.toSignal(t_C).value, R_ohm)).toBeLessThan(1e-13)
    }
  })

  it.each(fits)('fits MGH10 in powers $powers of ln R', (fit) => {
    const { rows, y } = design(mgh10.data, fit.powers)
    const result = weightedLeastSquares(rows, y)
    fit.powers.forEach((_, i) => {
      // Nearly dependent columns: ln R is rounded in its sixteenth digit, and the condition number takes seven.
      expect(relative(result.coefficients[i]!, fit.coefficients[i]!)).toBeLessThan(1e-7)
      expect(relative(result.standardUncertainties[i]!, fit.standard_uncertainties[i]!)).toBeLessThan(1e-7)
    })
    expect(relative(result.residualSd, fit.residual_sd_per_K)).toBeLessThan(1e-7)
    const thermistor = prepare({ kind: 'steinhart-hart', coefficients: fit.coefficients, powers: fit.powers })
    mgh10.data.forEach(([t, ohm], i) => {
      expect((thermistor.toTemperature(ohm).value - t) * 1000).toBeCloseTo(fit.fit_minus_t_mK[i]!, 6)
    })
  })
})

describe('NIST StRD MGH10', () => {
  it('has the certified residual sum of squares and degrees of freedom with the certified parameters', () => {
    const { b1, b2, b3, residual_sum_of_squares, residual_sd, degrees_of_freedom } = mgh10.certified
    const sum = mgh10.data.reduce(
      (total, [t, ohm]) => total + (ohm - b1! * Math.exp(b2! / (t + b3!))) ** 2,
      0,
    )
    // The parameters are printed with eleven digits; the sum is at its minimum in them.
    expect(relative(sum, residual_sum_of_squares!)).toBeLessThan(1e-9)
    expect(mgh10.data.length - 3).toBe(degrees_of_freedom)
    expect(relative(Math.sqrt(sum / degrees_of_freedom!), residual_sd!)).toBeLessThan(1e-9)
    for (const name of ['b1', 'b2', 'b3', 'residual_sum_of_squares']) {
      expect(relative(Number(mgh10.recomputed[name]), mgh10.certified[name]!)).toBeLessThan(2e-11)
    }
  })

  it('has the certified standard deviations of the parameters', () => {
    const { b1, b2, b3, sd_b1, sd_b2, sd_b3 } = mgh10.certified
    const rows = mgh10.data.map(([t]) => {
      const model = b1! * Math.exp(b2! / (t + b3!))
      return [model / b1!, model / (t + b3!), (-model * b2!) / (t + b3!) ** 2]
    })
    const residuals = mgh10.data.map(([t, ohm]) => ohm - b1! * Math.exp(b2! / (t + b3!)))
    const { standardUncertainties } = weightedLeastSquares(rows, residuals)
    ;[sd_b1, sd_b2, sd_b3].forEach((sd, i) => {
      expect(relative(standardUncertainties[i]!, sd!)).toBeLessThan(1e-6)
    })
  })
})

describe('prepare, beta', () => {
  const prepared = prepare({ kind: 'beta', r0: beta.R0_ohm, t0: beta.t0_C, beta: beta.B_K })
  it.each(beta.points)('gives $R_ohm ohm at $t_C degC, and the temperature back', ({ t_C, R_ohm }) => {
    expect(relative(prepared.toSignal(t_C).value, R_ohm)).toBeLessThan(1e-14)
    expect(prepared.toTemperature(R_ohm).value).toBeCloseTo(t_C, 11)
  })
})

describe('prepare, polynomial', () => {
  it('is the published cubic of a thermistor against a platinum thermometer', () => {
    const [tau, indication] = [cubic.data.map(([t]) => t), cubic.data.map(([, y]) => y)]
    const fit = polynomialFit(tau, indication, 3)
    cubic.computed.coefficients.forEach((figure, i) => {
      expect(relative(fit.coefficients[i]!, figure)).toBeLessThan(1e-9)
      expect(relative(fit.standardUncertainties[i]!, cubic.computed.standard_uncertainties[i]!)).toBeLessThan(
        1e-9,
      )
    })
    expect(relative(fit.residualSd, cubic.computed.residual_sd_C)).toBeLessThan(1e-10)
    expect(fit.residualSd).toBeCloseTo(cubic.published_residual_sd_C, 3)
    expect(fit.degreesOfFreedom).toBe(cubic.computed.degrees_of_freedom)
    const prepared = prepare({
      kind: 'polynomial',
      coefficients: cubic.computed.coefficients,
      range: [15, 45],
    })
    for (const [t, y] of cubic.data) expect(Math.abs(prepared.toTemperature(t).value - y)).toBeLessThan(0.03)
  })
})
