import { said } from '../messages/said.ts'
import { ThermometryError } from './errors.ts'

export interface CurrentReading {
  /** Measuring current, mA. */
  readonly milliampere: number
  readonly ohm: number
  /** Standard uncertainty of the resistance, ohm. */
  readonly u?: number
}

export interface ZeroCurrent {
  /** Resistance at zero current, ohm, and its standard uncertainty. */
  readonly ohm: number
  readonly standardUncertainty: number
  /** Resistance that the first current adds, ohm, and its standard uncertainty. */
  readonly heatingOhm: number
  readonly uHeatingOhm: number
}

/**
 * Resistance at zero current from readings at two currents.
 *
 *   R(0) = R1 - I1^2 (R2 - R1)/(I2^2 - I1^2)
 *
 * Symbols  R1, R2 resistance at the currents I1, I2; R in ohm, I in mA
 * Source   common practice, no source: self-heating is proportional to the power I^2 R
 * Valid    currents that differ, settled readings; the uncertainties of R1 and R2 are taken as independent
 * Throws   ThermometryError 'same-current' | 'not-positive' | 'not-finite'
 */
export function zeroCurrentResistance(first: CurrentReading, second: CurrentReading): ZeroCurrent {
  for (const { milliampere, ohm } of [first, second]) {
    if (!Number.isFinite(milliampere) || !Number.isFinite(ohm)) {
      throw new ThermometryError('not-finite', said('currents-resistances-finite-numbers', {}), {
        first,
        second,
      })
    }
    if (milliampere <= 0) {
      throw new ThermometryError('not-positive', said('measuring-current-greater-than', {}), {
        milliampere,
      })
    }
  }
  const p1 = first.milliampere * first.milliampere
  const p2 = second.milliampere * second.milliampere
  if (Math.abs(p2 - p1) < 1e-6 * Math.max(p1, p2)) {
    throw new ThermometryError('same-current', said('two-different-currents-needed', {}), {
      first,
      second,
    })
  }
  const share = p1 / (p2 - p1)
  const heatingOhm = share * (second.ohm - first.ohm)
  const u1 = first.u ?? 0
  const u2 = second.u ?? 0
  return {
    ohm: first.ohm - heatingOhm,
    standardUncertainty: Math.hypot((1 + share) * u1, share * u2),
    heatingOhm,
    uHeatingOhm: Math.abs(share) * Math.hypot(u1, u2),
  }
}

export interface SelfHeating extends ZeroCurrent {
  /** Self-heating at the first current, mK, and its standard uncertainty. */
  readonly milliKelvin: number
  readonly uMilliKelvin: number
  /** Difference of the repeated first reading from the first, mK, and whether it lies within its limit. */
  readonly returnMilliKelvin: number | undefined
  readonly agrees: boolean | undefined
}

/**
 * Self-heating from the readings I, sqrt(2) I and, where it was taken, I again.
 *
 * With the first current repeated, its two readings are averaged, which cancels a drift that is even in time, and
 * their difference is judged against k times its own standard uncertainty, or against a limit in millikelvin.
 *
 * Symbols  readings in ohm at currents in mA; dR/dt slope of the thermometer there, ohm/K; limit in mK
 * Source   common practice, no source
 * Valid    as `zeroCurrentResistance`; the judgement needs a repeated reading and a limit or uncertainties
 * Throws   ThermometryError 'same-current' | 'not-positive' | 'not-finite'
 */
export function selfHeating(
  first: CurrentReading,
  second: CurrentReading,
  ohmPerKelvin: number,
  repeated?: CurrentReading,
  limit: { readonly milliKelvin?: number; readonly k?: number } = {},
): SelfHeating {
  if (!(Math.abs(ohmPerKelvin) > 0) || !Number.isFinite(ohmPerKelvin)) {
    throw new ThermometryError('not-finite', said('slope-impossible', {}), {
      ohmPerKelvin,
    })
  }
  if (repeated && Math.abs(repeated.milliampere - first.milliampere) > 1e-3 * first.milliampere) {
    throw new ThermometryError('same-current', said('repeated-at-another-current', {}), {
      first,
      repeated,
    })
  }
  const u1 = first.u ?? 0
  const mean: CurrentReading = repeated
    ? {
        milliampere: first.milliampere,
        ohm: (first.ohm + repeated.ohm) / 2,
        u: Math.hypot(u1, repeated.u ?? 0) / 2,
      }
    : first
  const zero = zeroCurrentResistance(mean, second)
  const toMilliKelvin = 1000 / ohmPerKelvin
  const returnMilliKelvin = repeated && (repeated.ohm - first.ohm) * toMilliKelvin
  const byUncertainty = (limit.k ?? 2) * Math.hypot(u1, repeated?.u ?? 0) * Math.abs(toMilliKelvin)
  const allowed = limit.milliKelvin ?? (byUncertainty > 0 ? byUncertainty : undefined)
  return {
    ...zero,
    milliKelvin: zero.heatingOhm * toMilliKelvin,
    uMilliKelvin: zero.uHeatingOhm * Math.abs(toMilliKelvin),
    returnMilliKelvin,
    agrees:
      returnMilliKelvin === undefined || allowed === undefined
        ? undefined
        : Math.abs(returnMilliKelvin) <= allowed,
  }
}
