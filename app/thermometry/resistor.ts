import { said } from '../messages/said.ts'
import type { ResistorCalibration } from '../records/register.ts'
import { ThermometryError } from './errors.ts'

const MS_PER_YEAR = 365.25 * 86_400_000

export interface ResistorValue {
  /** Resistance on the day and at the temperature, ohm. */
  readonly ohm: number
  readonly standardUncertainty: number
  readonly relativeUncertainty: number
  /** Standard uncertainties by cause, ohm. */
  readonly contributions: {
    readonly calibration: number
    readonly drift: number
    readonly temperature: number
  }
}

function daysOf(isoDate: string): number {
  const ms = Date.parse(isoDate)
  if (Number.isNaN(ms)) {
    throw new ThermometryError('bad-date', said('not-a-date', { date: isoDate }), { isoDate })
  }
  return ms
}

/**
 * Value of a reference resistor at a temperature and on a day, with its uncertainty.
 *
 *   Rs(T, date) = Rcal [1 + alpha (T - Tcal) + beta (T - Tcal)^2] (1 + drift (date - date_cal))
 *
 * Symbols  Rs, Rcal in ohm; T, Tcal in degC; alpha 1/K; beta 1/K^2; drift relative per year of 365.25 days
 * Source   common practice, no source (the certificate's own temperature coefficients and drift)
 * Valid    temperatures near Tcal; calibrations are carried forward, and backward with the same uncertainty of drift
 * Throws   ThermometryError 'bad-date' | 'not-finite' | 'not-positive'
 */
export function resistorValue(
  calibration: ResistorCalibration,
  temperatureC: number,
  dateIso: string,
  uTemperatureK = 0,
): ResistorValue {
  const rcal = Number(calibration.ohm)
  if (!(rcal > 0)) {
    throw new ThermometryError('not-positive', said('calibrated-resistance-not-positive', {}), {
      ohm: calibration.ohm,
    })
  }
  if (!Number.isFinite(temperatureC)) {
    throw new ThermometryError('not-finite', said('temperature-resistor-not-finite', {}), {
      temperatureC,
    })
  }
  const { alphaPerK, betaPerK2, driftPerYear, uDriftPerYear, expandedRelative, k } = calibration
  const dT = temperatureC - calibration.celsius
  const years = (daysOf(dateIso) - daysOf(calibration.date)) / MS_PER_YEAR
  const byTemperature = 1 + dT * (alphaPerK + dT * betaPerK2)
  const byTime = 1 + driftPerYear * years
  const ohm = rcal * byTemperature * byTime
  const contributions = {
    calibration: (ohm * expandedRelative) / k,
    drift: rcal * byTemperature * Math.abs(years) * uDriftPerYear,
    temperature: rcal * byTime * Math.abs(alphaPerK + 2 * betaPerK2 * dT) * uTemperatureK,
  }
  const standardUncertainty = Math.hypot(
    contributions.calibration,
    contributions.drift,
    contributions.temperature,
  )
  return { ohm, standardUncertainty, relativeUncertainty: standardUncertainty / ohm, contributions }
}
