import type { InstrumentRecord } from '../records/register.ts'
import type { MeterFacts } from './pair-facts.ts'
import { HALF_WIDTH_DIVISOR } from './uncertainty-template.ts'

/**
 * What the record of a meter states of a voltage or a resistance, as a relative standard uncertainty:
 *
 *   a = (p_reading + p_K dT) |x| + p_range X,  u_r = a / (sqrt(3) |x|)
 *
 * Symbols: x the value, X the top of the smallest range that holds it, p parts per million, dT how far the room may be from
 * where the figures hold. Source: JCGM 100:2008, 4.3.7, for the rectangle; the form of the statement is common practice.
 */
export function meterFacts(instrument: InstrumentRecord | null, rawUnit: string): MeterFacts | null {
  const quantity = rawUnit === 'ohm' ? 'ohm' : rawUnit === 'V' || rawUnit === 'mV' ? 'V' : null
  const ranges = (instrument?.accuracy ?? [])
    .filter((a) => a.quantity === quantity)
    .toSorted((a, b) => a.range - b.range)
  if (!instrument || ranges.length === 0) return null
  // Signals of thermocouples are in mV.
  const perUnit = quantity === 'V' ? 1e-3 : 1
  return {
    source: `accuracy of ${instrument.name}: ${ranges[0]!.source}`,
    uRelative(value) {
      const x = Math.abs(value) * perUnit
      const own = ranges.find((a) => x <= a.range) ?? ranges.at(-1)!
      const ppm = own.readingPpm + own.perKelvinPpm * own.withinK
      return (ppm + (own.rangePpm * own.range) / Math.max(x, 1e-12)) * (1e-6 / HALF_WIDTH_DIVISOR.rectangular)
    },
  }
}
