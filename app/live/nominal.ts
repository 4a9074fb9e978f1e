import type { Conversion, ThermocoupleType } from '../records/conversion.ts'
import type { Thermometer } from '../records/register.ts'

/** Ratio of R(WTP) to R(0 degC) of platinum, from the ITS-90 reference function near the triple point. */
const WTP_OVER_ICE = 1.00003988

/** Typical material constant of an NTC bead between 0 and 50 degC, K; common practice, no source. */
const TYPICAL_BETA_K = 3950

/** Resistance at 0 degC of the commonest industrial thermometer, ohm; IEC 60751:2022, 4.1. */
const COMMON_PRT_OHM = 100

/**
 * The conversion that stands in for a calibration a thermometer does not have yet, so that its temperature can be
 * watched: IEC 60751 scaled to the nominal resistance for an industrial thermometer, the ITS-90 reference function for
 * a standard one, the beta equation for a thermistor, the reference function of its type for a thermocouple. Good to a few kelvin at worst; never used for a result.
 */
export function nominalConversion(thermometer: Thermometer): Conversion | undefined {
  switch (thermometer.kind) {
    case 'prt':
      return { kind: 'iec60751', r0: thermometer.nominalOhm ?? COMMON_PRT_OHM }
    case 'sprt':
      return {
        kind: 'its90',
        rWtp: thermometer.wtpHistory.at(-1)?.ohm ?? (thermometer.nominalOhm ?? 25.5) * WTP_OVER_ICE,
        subrange: '3.3.2.1',
        coefficients: { a: 0, b: 0, c: 0 },
        joined: { subrange: '3.3.1.3', coefficients: { a: 0, b: 0 } },
      }
    case 'thermistor':
      return { kind: 'beta', r0: thermometer.nominalOhm ?? 10_000, t0: 25, beta: TYPICAL_BETA_K }
    case 'thermocouple': {
      const type = thermocoupleTypeOf(thermometer)
      return type && { kind: 'thermocouple', type }
    }
    default:
      return undefined
  }
}

/** Letter of a thermocouple's reference function: as registered, or as its newest calibration has it. */
export function thermocoupleTypeOf({
  thermocoupleType,
  calibrations,
}: Thermometer): ThermocoupleType | undefined {
  if (thermocoupleType) return thermocoupleType
  const newest = calibrations.toSorted((a, b) => a.date.localeCompare(b.date)).at(-1)?.conversion
  return newest?.kind === 'thermocouple' ? newest.type : undefined
}

/** How far a nominal conversion may be off, standard uncertainty in K; common practice, no source. */
export const NOMINAL_U_K = 0.5
