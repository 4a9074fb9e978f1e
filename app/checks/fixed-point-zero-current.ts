import { describeSamples } from '../statistics/window.ts'
import { zeroCurrentResistance } from '../thermometry/self-heating.ts'
import type { CellReading } from './fixed-point-plateau.ts'

/** Readings of one thermometer on a plateau at its own current and at another, and the self-heating they show. */
export interface CurrentPair {
  readonly lowMa: number
  readonly highMa: number
  /** Means over the stretch, brought to one moment by the slope of the plateau, ohm. */
  readonly lowOhm: number
  readonly highOhm: number
  readonly nLow: number
  readonly nHigh: number
  /** At the channel's own current, mK. */
  readonly heatingMk: number
  /** Standard, with the part that repeatability of the channel's own readings has in both, mK. */
  readonly uHeatingMk: number
}

type AtCurrent = CellReading & { readonly currentMa: number }

/** Fewer readings at the second current say nothing of their own spread. */
const LEAST_AT_CURRENT = 5

/**
 * Self-heating from readings at two currents within one stretch of a plateau.
 *
 *   R(0) = R1 - I1^2 (R2 - R1) / (I2^2 - I1^2);  h = s (R2 - R1), s = I1^2 / (I2^2 - I1^2)
 *   u^2(R(0)) = (1 + s)^2 u1^2 + s^2 u2^2
 *
 * R1 is in the plateau's value and in h, with opposite effect, so that errors of R1 do not add in quadrature: u(h) as
 * stated here is what brings u1 to u(R(0)), u^2(h) = (2 s + s^2) u1^2 + s^2 u2^2. The plateau's slope over the distance of
 * the two mean times is taken off. Common practice, no source. Undefined where either current has too few readings.
 */
export function heatingFromPair(
  own: readonly AtCurrent[],
  other: readonly AtCurrent[],
  { usedFromS, usedToS, driftMkPerHour }: { usedFromS: number; usedToS: number; driftMkPerHour: number },
  ohmPerKelvin: number,
): CurrentPair | undefined {
  const within = ({ timeS }: AtCurrent) => timeS >= usedFromS && timeS <= usedToS
  const low = own.filter(within)
  const high = other.filter(within)
  if (low.length < LEAST_AT_CURRENT || high.length < LEAST_AT_CURRENT) return undefined
  const meanTime = (readings: readonly AtCurrent[]) =>
    readings.reduce((sum, r) => sum + r.timeS, 0) / readings.length
  const describe = (readings: readonly AtCurrent[]) =>
    describeSamples(
      readings.map((r) => r.timeS),
      readings.map((r) => r.ohm),
    )
  const [a, b] = [describe(low), describe(high)]
  const ohmPerS = (driftMkPerHour * ohmPerKelvin) / 3.6e6
  const highOhm = b.mean - ohmPerS * (meanTime(high) - meanTime(low))
  const [lowMa, highMa] = [low[0]!.currentMa, high[0]!.currentMa]
  const zero = zeroCurrentResistance(
    { milliampere: lowMa, ohm: a.mean, u: a.standardError },
    { milliampere: highMa, ohm: highOhm, u: b.standardError },
  )
  const extra = Math.sqrt(Math.max(0, zero.standardUncertainty ** 2 - a.standardError ** 2))
  return {
    lowMa,
    highMa,
    lowOhm: a.mean,
    highOhm,
    nLow: low.length,
    nHigh: high.length,
    heatingMk: (zero.heatingOhm / ohmPerKelvin) * 1e3,
    uHeatingMk: (extra / ohmPerKelvin) * 1e3,
  }
}
