import { said } from '../messages/said.ts'
import { polynomialFit } from '../statistics/polynomial.ts'
import { ThermometryError } from '../thermometry/errors.ts'
import { polynomial, polynomialSlope } from '../thermometry/polynomial.ts'
import { seebeckCoefficient, thermocoupleEmf, thermocoupleRange } from '../thermometry/thermocouple.ts'
import {
  covarianceField,
  rangeField,
  requirePoints,
  solutionOf,
  thermometerFit,
  weightsOf,
} from './fit-linear.ts'
import type { CalibrationPoint, FitModel, ThermometerFit } from './fit-model.ts'

type ThermocoupleModel = Extract<FitModel, { kind: 'thermocouple' }>

/**
 * Fits a thermocouple's deviation from the reference function of its type as a polynomial in temperature.
 *
 *   E(t90) - E_ref(t90) = Σ d_k t90ᵏ
 *
 * The reference function carries the bend of the relation, so that few points give what the wires differ by.
 *
 * Symbols  E emf with the reference junction at 0 degC, mV; E_ref reference function of the type, mV; t90 in degC; d_k in
 *          mV per power of degC
 * Source   IEC 60584-1:2013 (reference functions, as NIST Monograph 175 gives them); the deviation as a polynomial is
 *          common practice, no source
 * Valid    at least degree + 1 different temperatures, within the range of the type
 * Throws   StatisticsError 'not-finite' | 'underdetermined' | 'rank-deficient' | 'out-of-range'; ThermometryError
 *          'outside-range' for a point outside the range of the type
 */
export function fitThermocouple(
  { type, degree }: ThermocoupleModel,
  points: readonly CalibrationPoint[],
): ThermometerFit {
  requirePoints(points)
  const temperatures = points.map(({ t90C }) => t90C)
  requireWithin(type, temperatures)
  const deviations = points.map(({ t90C, signal }) => signal - thermocoupleEmf(type, t90C))
  const perKelvin = temperatures.map((t) => seebeckCoefficient(type, t))
  const { weights, weightsAre } = weightsOf(
    points,
    perKelvin,
    points.map(() => 1),
  )
  const fit = polynomialFit(temperatures, deviations, degree, {
    weightsAre,
    decimal: true,
    ...(weights && { weights }),
  })
  const names = fit.coefficients.map((_, k) => String(k))
  return thermometerFit(
    {
      conversion: {
        kind: 'thermocouple',
        type,
        deviation: fit.coefficients,
        ...covarianceField(names, fit.covariance),
        ...rangeField(temperatures),
      },
      names,
      ...solutionOf(fit, weightsAre),
      notes: [`The deviation from the reference function of type ${type} was fitted.`],
      equation: { of: 'E - E_ref', unit: 'mV', residuals: Array.from(fit.residuals) },
      signalAt: (t90C) => thermocoupleEmf(type, t90C) + polynomial(fit.coefficients, t90C),
      slope: (t90C) => seebeckCoefficient(type, t90C) + polynomialSlope(fit.coefficients, t90C),
      gradient: (t90C) => fit.coefficients.map((_, k) => t90C ** k),
    },
    points,
  )
}

function requireWithin(type: ThermocoupleModel['type'], temperatures: readonly number[]): void {
  const [lowC, highC] = thermocoupleRange(type)
  const outside = temperatures.find((t) => t < lowC || t > highC)
  if (outside === undefined) return
  throw new ThermometryError(
    'outside-range',
    said('outside-reference-function', { outside, type, lowC, highC }),
    { type, t90: outside, lowC, highC },
  )
}
