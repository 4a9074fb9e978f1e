/** Fits of thermometers under test: from the points of a comparison to a conversion with its covariance. */
import { fitCallendarVanDusen } from './fit-callendar.ts'
import { fitIts90 } from './fit-its90.ts'
import type { FitInput, ThermometerFit } from './fit-model.ts'
import { fitSignalPolynomial } from './fit-polynomial.ts'
import { fitSteinhartHart } from './fit-thermistor.ts'
import { fitThermocouple } from './fit-thermocouple.ts'

export type { CalibrationPoint, FitInput, ThermometerFit } from './fit-model.ts'

/**
 * Fits a thermometer's relation to calibration points.
 *
 * Weights: where every point states uT or uSignal, 1/u² of the fitted equation, and the covariance follows
 * from those uncertainties; else the weights given or equal ones, and the covariance follows from the
 * residuals.
 *
 * Symbols  t90 in degC, signal in ohm (or mV); coefficients as the conversion of that kind states them
 * Source   ITS-90 (Metrologia 27 (1990) 3) section 3.3; IEC 60751 (form of the relation); Steinhart and
 *          Hart, Deep-Sea Research 15 (1968) 497; IEC 60584-1 (reference functions)
 * Valid    at least as many points, at different temperatures, as coefficients
 * Throws   StatisticsError or ThermometryError, in words, where the points do not determine the coefficients
 */
export function fitThermometer({ model, points }: FitInput): ThermometerFit {
  switch (model.kind) {
    case 'its90':
      return fitIts90(model, points)
    case 'callendar-van-dusen':
      return fitCallendarVanDusen(model, points)
    case 'steinhart-hart':
      return fitSteinhartHart(model, points)
    case 'thermocouple':
      return fitThermocouple(model, points)
    case 'polynomial':
      return fitSignalPolynomial(model, points)
  }
}
