/**
 * Rows of design matrices, by which a linear least-squares fit finds a thermometer's coefficients, and the way from the
 * fitted numbers to the coefficients of the trade. x is a temperature in degC and y a resistance in ohm throughout.
 */
import type { Its90Section } from '../records/conversion.ts'
import { ThermometryError } from './errors.ts'
import { subrangeReferenceRatio } from './its90-calibration.ts'
import { deviationTerms } from './its90-deviation.ts'
import { ZERO_C_K } from './its90-reference.ts'
import { type CoefficientName, subrange } from './its90-subranges.ts'
import { defaultPowers } from './thermistor.ts'

export interface Design<Name extends string = string> {
  readonly names: readonly Name[]
  readonly rows: number[][]
  readonly y: number[]
}

function requireResistances(ohm: readonly number[]): void {
  const bad = ohm.find((value) => !(value > 0) || !Number.isFinite(value))
  if (bad !== undefined) {
    throw new ThermometryError('not-positive', `A resistance must be greater than zero; one is ${bad}.`, {
      bad,
    })
  }
}

/**
 * Design rows for the deviation coefficients of an ITS-90 subrange.
 *
 *   R_i/R(WTP) - Wr(t_i) = sum_j x_j f_j(R_i/R(WTP))
 *
 * Symbols  t_i in degC; R_i, R(WTP) in ohm; x_j coefficients, 1; W(660.323 degC) 1
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equations (12), (13), (14)
 * Valid    the range of the subrange; W(660.323 degC) is needed for the d term only
 * Throws   ThermometryError 'unknown-subrange' | 'not-positive' | 'missing-value'
 */
export function its90Design(
  section: Its90Section,
  t90: readonly number[],
  ohm: readonly number[],
  rWtp: number,
  wAluminium?: number,
): Design<CoefficientName> {
  const range = subrange(section)
  requireResistances([...ohm, rWtp])
  const w = ohm.map((value) => value / rWtp)
  const aluminium = wAluminium ?? w[t90.findIndex((t) => Math.abs(t - 660.323) <= 1e-3)]
  if (range.coefficients.includes('d') && aluminium === undefined) {
    throw new ThermometryError(
      'missing-value',
      'The coefficient d needs W at 660.323 degC: give wAluminium, or a point at that temperature.',
    )
  }
  return {
    names: range.coefficients,
    rows: w.map((value) => deviationTerms(range, value, aluminium ?? Number.POSITIVE_INFINITY)),
    y: w.map((value, i) => value - subrangeReferenceRatio(range, t90[i]!)),
  }
}

/**
 * Design rows for R0, R0 A, R0 B and, where points lie below 0 degC, R0 C.
 *
 *   R = R0 + R0 A t + R0 B t^2 + R0 C (t - 100 degC) t^3 (below 0 degC)
 *
 * Symbols  t in degC; R, R0 in ohm; A 1/degC; B 1/degC^2; C 1/degC^4
 * Source   IEC 60751 (2008 and 2022 editions), clause 4.2
 * Valid    -200 degC to 850 degC
 * Throws   ThermometryError 'not-positive'
 */
export function callendarVanDusenDesign(
  t90: readonly number[],
  ohm: readonly number[],
  withC = t90.some((t) => t < 0),
): Design<'r0' | 'a' | 'b' | 'c'> {
  requireResistances(ohm)
  return {
    names: withC ? ['r0', 'a', 'b', 'c'] : ['r0', 'a', 'b'],
    rows: t90.map((t) => {
      const row = [1, t, t * t]
      return withC ? [...row, t < 0 ? (t - 100) * t ** 3 : 0] : row
    }),
    y: [...ohm],
  }
}

/**
 * Coefficients R0, A, B, C with their covariance from the fitted R0, R0 A, R0 B, R0 C.
 *
 *   A = (R0 A)/R0 and the like; V' = J V J^T with dA/dR0 = -A/R0, dA/d(R0 A) = 1/R0
 *
 * Symbols  fitted numbers in ohm, ohm/degC ...; covariance in their units squared
 * Source   IEC 60751, clause 4.2; JCGM 100:2008, 5.2 (propagation with correlation) and JCGM 102 for several outputs
 * Valid    R0 not zero
 * Throws   ThermometryError 'not-determined' for R0 of zero
 */
export function callendarVanDusenCoefficients(
  fitted: readonly number[],
  covariance: readonly (readonly number[])[],
): { coefficients: number[]; covariance: number[][] } {
  const r0 = fitted[0]!
  if (!(Math.abs(r0) > 0))
    throw new ThermometryError('not-determined', 'The points give no resistance at 0 degC.')
  const coefficients = fitted.map((value, i) => (i === 0 ? r0 : value / r0))
  const jacobian = fitted.map((_, i) =>
    fitted.map((_, j) => {
      if (i === 0) return j === 0 ? 1 : 0
      if (j === 0) return -coefficients[i]! / r0
      return i === j ? 1 / r0 : 0
    }),
  )
  const product = (p: readonly (readonly number[])[], q: readonly (readonly number[])[]) =>
    p.map((row) => q[0]!.map((_, j) => row.reduce((sum, value, k) => sum + value * q[k]![j]!, 0)))
  const transposed = jacobian.map((_, i) => jacobian.map((row) => row[i]!))
  return { coefficients, covariance: product(product(jacobian, covariance), transposed) }
}

/**
 * Design rows for coefficients of powers of ln R in 1/T.
 *
 *   1/T = sum_k c_k (ln R)^k
 *
 * Symbols  T = t + 273.15 in kelvin; R in ohm; c_k in 1/K
 * Source   J. S. Steinhart and S. R. Hart, Deep-Sea Research 15, 497-503 (1968)
 * Valid    R > 0, t above absolute zero
 * Throws   ThermometryError 'not-positive' | 'outside-range'
 */
export function steinhartHartDesign(
  t90: readonly number[],
  ohm: readonly number[],
  powers: readonly number[] = defaultPowers(3),
): Design {
  requireResistances(ohm)
  const cold = t90.find((t) => !(t > -ZERO_C_K))
  if (cold !== undefined) {
    throw new ThermometryError('outside-range', `A temperature of ${cold} degC is not above absolute zero.`, {
      cold,
    })
  }
  return {
    names: powers.map(String),
    rows: ohm.map((value) => powers.map((power) => Math.log(value) ** power)),
    y: t90.map((t) => 1 / (t + ZERO_C_K)),
  }
}
