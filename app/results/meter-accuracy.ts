import type { InstrumentRecord } from '../records/register.ts'
import type { MeterFacts } from './pair-facts.ts'
import type { ChannelRanges } from './profile-ranges.ts'
import { HALF_WIDTH_DIVISOR } from './uncertainty-template.ts'

interface Figures {
  /** Parts per million of the reading and of the range. */
  readonly reading: number
  readonly range: number
  /** Top of the range, in the unit of the value. */
  readonly top: number
}

/**
 * What is stated of a meter's accuracy, as a relative standard uncertainty:
 *
 *   a = (p_reading + p_K dT) |x| + p_range X,  u_r = a / (sqrt(3) |x|)
 *
 * Symbols: x the value, X the top of the range it was measured in, p parts per million, dT how far the room may be from
 * where the figures hold. The range is the one that was set for the channel, else the smallest that holds the value. The
 * register's figures, of this very instrument, stand before those of the profile, of its kind. Source: JCGM 100:2008, 4.3.7,
 * for the rectangle; the form of the statement is common practice.
 *
 * `rawPerSignal`: the instrument's own value for one unit of the signal, 1 where they are the same.
 */
export function meterFacts(
  instrument: InstrumentRecord | null,
  rawUnit: string,
  stated?: ChannelRanges,
  rawPerSignal = 1,
): MeterFacts | null {
  return ofRegister(instrument, rawUnit, stated) ?? ofProfile(stated, rawPerSignal)
}

function facts(source: string, figuresFor: (x: number) => Figures, perSignal: number): MeterFacts {
  return {
    source,
    uRelative(value) {
      const x = Math.abs(value) * perSignal
      const { reading, range, top } = figuresFor(x)
      return (reading + (range * top) / Math.max(x, 1e-12)) * (1e-6 / HALF_WIDTH_DIVISOR.rectangular)
    },
  }
}

function ofRegister(
  instrument: InstrumentRecord | null,
  rawUnit: string,
  stated: ChannelRanges | undefined,
): MeterFacts | null {
  const quantity = rawUnit === 'ohm' ? 'ohm' : rawUnit === 'V' || rawUnit === 'mV' ? 'V' : null
  const ranges = (instrument?.accuracy ?? [])
    .filter((a) => a.quantity === quantity)
    .toSorted((a, b) => a.range - b.range)
  if (!instrument || ranges.length === 0) return null
  const set = (stated?.set?.upTo ?? 0) * (rawUnit === 'mV' ? 1e-3 : 1)
  const figuresFor = (x: number): Figures => {
    const own = ranges.find((a) => Math.max(x, set) <= a.range * (1 + 1e-9)) ?? ranges.at(-1)!
    return {
      reading: own.readingPpm + own.perKelvinPpm * own.withinK,
      range: own.rangePpm,
      top: own.range,
    }
  }
  // Signals of thermocouples are in mV.
  return facts(
    `accuracy of ${instrument.name}: ${ranges[0]!.source}`,
    figuresFor,
    quantity === 'V' ? 1e-3 : 1,
  )
}

function ofProfile(stated: ChannelRanges | undefined, rawPerSignal: number): MeterFacts | null {
  const told = (stated?.ranges ?? [])
    .flatMap(({ accuracy, upTo }) =>
      accuracy ? [{ ...accuracy, top: upTo ?? Number.POSITIVE_INFINITY }] : [],
    )
    .toSorted((a, b) => a.top - b.top)
  const set = stated?.set?.accuracy && { ...stated.set.accuracy, top: stated.set.upTo! }
  const widest = told.findLast(({ top }) => Number.isFinite(top))
  if (!stated || (!set && told.length === 0)) return null
  const figuresFor = (x: number): Figures => {
    const own = set ?? told.find(({ top }) => x <= top) ?? told.at(-1)!
    // Of an instrument that chooses by itself no top is known: it is not larger than the widest that is.
    const top = Number.isFinite(own.top) ? own.top : (widest?.top ?? x)
    return { reading: own.readingPpm, range: own.rangePpm, top }
  }
  const which = set ? `, range ${stated.set!.name}` : ''
  return facts(`accuracy in the profile ${stated.title}${which}`, figuresFor, rawPerSignal)
}
