import type { Conversion } from '../kinds/conversion.ts'
import { signalUnitOf } from '../kinds/table.ts'
import { said } from '../messages/said.ts'
import type { Bench, Channel } from '../records/bench.ts'
import type { Mark } from '../records/mark.ts'
import type { RawUnit } from '../records/reading.ts'
import {
  type InstrumentRecord,
  inForce,
  type Register,
  type Resistor,
  type ResistorCalibration,
  type Thermometer,
  type ThermometerCalibration,
  type WtpEntry,
} from '../records/register.ts'
import { prepare } from '../thermometry/convert.ts'
import { type ResistorValue, resistorValue } from '../thermometry/resistor.ts'
import { bridgeErrorAt, bridgeInForce } from './bridge-in-force.ts'
import { holdsAtZeroCurrent } from './calibration-current.ts'
import { ChainError } from './chain-error.ts'
import { chainUncertainty, type UncertaintyPart } from './chain-uncertainty.ts'
import { NOMINAL_U_K, nominalConversion } from './nominal.ts'
import { registeredHeatingMk } from './registered-heating.ts'
import { unitBelongs } from './unit-belongs.ts'

/** What a chain may need of other channels at the time of its reading. */
export interface ChainContext {
  /** Resistance of another channel's thermometer, ohm; NaN where it is not known yet. */
  ohmOf?(channel: string): number
  /** Temperature of another channel, degC; NaN where it is not known yet. */
  celsiusOf?(channel: string): number
}

/** One reading through its chain. NaN where a step has no answer. */
export interface Converted {
  ratio: number
  /** Resistance in ohm, or mV of a thermocouple. */
  signal: number
  celsius: number
  /** The value lies outside the range of the conversion. */
  outside: boolean
}

/** The reference resistor of a chain on the chain's date. */
export interface ChainResistor extends ResistorValue {
  readonly entry: Resistor
  readonly calibration: ResistorCalibration
}

/**
 * The conversion of one channel from reading to temperature: ratio -> resistance -> temperature, with corrections,
 * compiled for a date.
 */
export interface Chain {
  readonly channel: string
  /** No calibration: a nominal conversion stands in, for watching only. */
  readonly nominal: boolean
  /** The calibration is stated for zero current, so that self-heating is taken off. */
  readonly atZeroCurrent: boolean
  /** Marks every reading through this chain carries. */
  readonly marks: readonly Mark[]
  /** Channels this chain follows. */
  readonly follows: readonly string[]
  readonly signalUnit: 'ohm' | 'mV' | 'none'
  readonly calibration: ThermometerCalibration | undefined
  readonly wtp: WtpEntry | undefined
  readonly resistor: ChainResistor | undefined
  /** Whether a reading in this unit can be of this channel's thermometer; nothing comes of one that cannot. */
  belongs(unit: RawUnit): boolean
  convert(value: number, unit: RawUnit, currentMa: number | null, context?: ChainContext): Converted
  /** Temperature of a signal (ohm or mV) at a current; NaN without a conversion. Current 0: no self-heating to correct. */
  celsiusOfSignal(signal: number, currentMa: number | null, context?: ChainContext): number
  /** Signal at a temperature, ohm or mV. */
  signalAt(celsius: number): number
  /** dSignal/dt at a temperature, per K. */
  slopeAt(celsius: number): number
  /** Standard uncertainty parts at a temperature, mK. */
  parts(celsius: number): readonly UncertaintyPart[]
  /** All parts together, K; NaN without a conversion. Looked up on a grid of 1 K. */
  uCelsius(celsius: number): number
}

export interface ChainSource {
  readonly bench: Bench
  readonly register: Register
  /** Date of the readings, YYYY-MM-DD: calibrations in force on it are used. */
  readonly date: string
}

/** Chains of all channels of a bench, by channel id. Throws ChainError where a channel's set-up cannot work. */
export function buildChains(source: ChainSource): ReadonlyMap<string, Chain> {
  const chains = new Map<string, Chain>()
  for (const channel of source.bench.channels) {
    refuseCircle(source.bench, channel)
    chains.set(channel.id, buildChain(source, channel))
  }
  return chains
}

/** Chain of one channel. */
export function buildChain(source: ChainSource, channel: Channel): Chain {
  return build(source, channel, [])
}

/** `above`: the channels that are measured against this one, so that a circle ends. */
function build(source: ChainSource, channel: Channel, above: readonly string[]): Chain {
  const { bench, register, date } = source
  const thermometer = register.thermometers.find((t) => t.id === channel.thermometer)
  if (channel.thermometer !== undefined && !thermometer) {
    throw new ChainError(
      'unknown-thermometer',
      said('channel-thermometer-unknown', { channel: channel.name, thermometer: channel.thermometer }),
      { channel: channel.id, thermometer: channel.thermometer },
    )
  }
  const calibration = thermometer && inForce(thermometer.calibrations, date)
  const wtp = thermometer && inForce(thermometer.wtpHistory, date)
  const conversion = conversionOf(thermometer, calibration, wtp)
  const resistor = resistorOf(register, channel, date)
  const instrument = instrumentOf(bench, register, channel)
  const { reference } = channel
  const standard =
    reference?.kind === 'channel' && !above.includes(reference.channel)
      ? bench.channels.find((c) => c.id === reference.channel)
      : undefined
  return compile({
    channel,
    thermometer,
    calibration,
    wtp,
    conversion,
    resistor,
    instrument,
    date,
    standard: standard && build(source, standard, [...above, channel.id]),
  })
}

/** What the records say of a channel on a day. */
interface Links {
  readonly channel: Channel
  readonly thermometer: Thermometer | undefined
  readonly calibration: ThermometerCalibration | undefined
  readonly wtp: WtpEntry | undefined
  readonly conversion: Conversion | undefined
  readonly resistor: Chain['resistor']
  readonly instrument: InstrumentRecord | undefined
  readonly date: string
  /** Chain of the standard that a ratio is taken against. */
  readonly standard: Chain | undefined
}

function compile(links: Links): Chain {
  const { channel, thermometer, calibration, wtp, conversion, resistor, instrument, date, standard } = links
  const prepared = conversion && prepare(conversion)
  const bridge = bridgeInForce(instrument, date)
  const nominal = thermometer !== undefined && calibration === undefined && conversion !== undefined
  const follows = followed(channel)
  const atZeroCurrent = calibration !== undefined && holdsAtZeroCurrent(calibration)
  const heated = atZeroCurrent && thermometer?.selfHeatingMk ? thermometer : undefined
  const junction = channel.junction?.kind === 'channel' ? channel.junction.channel : undefined
  const fixedJunctionC = fixedJunction(channel)
  const lowC = calibration?.lowC ?? Number.NEGATIVE_INFINITY
  const highC = calibration?.highC ?? Number.POSITIVE_INFINITY
  const marks: Mark[] =
    calibration?.due !== undefined && calibration.due < date ? ['calibration-overdue'] : []
  if (resistor?.calibration.due !== undefined && resistor.calibration.due < date && marks.length === 0) {
    marks.push('calibration-overdue')
  }

  const signalAt = (celsius: number) => (prepared ? prepared.toSignal(celsius).value : Number.NaN)
  const heatingK = (currentMa: number | null, signal: number) =>
    heated ? 1e-3 * registeredHeatingMk(heated, currentMa ?? channel.currentMa, signal, signalAt) : 0
  const celsiusOfSignal = (signal: number, currentMa: number | null, context?: ChainContext): number => {
    if (!prepared || !Number.isFinite(signal)) return Number.NaN
    const referenceJunction =
      junction === undefined ? fixedJunctionC : (context?.celsiusOf?.(junction) ?? Number.NaN)
    const options = referenceJunction === undefined ? undefined : { referenceJunction }
    return prepared.temperatureOf(signal, options) - heatingK(currentMa, signal)
  }
  const referenceOhm = (context: ChainContext | undefined): number => {
    if (resistor) return resistor.ohm
    if (channel.reference?.kind === 'channel')
      return context?.ohmOf?.(channel.reference.channel) ?? Number.NaN
    return Number.NaN
  }
  const slopeAt = (celsius: number) => (prepared ? prepared.toSignal(celsius).dValueDInput : Number.NaN)
  const junctionK = (celsius: number) => {
    const uK = channel.junction?.uK ?? 0
    if (uK === 0) return 0
    return Math.abs(uK * (slopeAt(fixedJunctionC ?? USUAL_JUNCTION_C) / slopeAt(celsius)))
  }
  const parts = (celsius: number) =>
    prepared
      ? chainUncertainty({
          celsius,
          signal: signalAt(celsius),
          slope: slopeAt(celsius),
          calibration,
          wtp: calibration?.conversion.kind === 'its90' ? wtp : undefined,
          resistor,
          standard: standard && standardAt(standard, celsius),
          bridge: bridge ?? undefined,
          selfHeatingMk: heatingK(null, signalAt(celsius)) * 1e3,
          junctionMk: junctionK(celsius) * 1e3,
          nominalK: nominal ? NOMINAL_U_K : 0,
        })
      : []
  const grid = new Map<number, number>()
  const belongs = (unit: RawUnit) => unitBelongs(thermometer?.kind, unit)

  return {
    channel: channel.id,
    nominal,
    atZeroCurrent,
    marks,
    follows,
    signalUnit: prepared === undefined ? 'none' : thermometer ? signalUnitOf(thermometer) : 'ohm',
    calibration,
    wtp,
    resistor,
    belongs,
    convert(value, unit, currentMa, context) {
      const out: Converted = { ratio: Number.NaN, signal: Number.NaN, celsius: Number.NaN, outside: false }
      if (!belongs(unit)) return out
      switch (unit) {
        case 'ratio':
          out.ratio = value
          out.signal = (value - (bridge ? bridgeErrorAt(bridge, value) : 0)) * referenceOhm(context)
          break
        case 'ohm':
        case 'mV':
          out.signal = value
          break
        case 'V':
          out.signal = value * 1e3
          break
        case 'degC':
          out.celsius = value
          return out
        case 'K':
          out.celsius = value - 273.15
          return out
        default:
          return out
      }
      out.celsius = celsiusOfSignal(out.signal, currentMa, context)
      out.outside = out.celsius < lowC || out.celsius > highC
      return out
    },
    celsiusOfSignal,
    signalAt,
    slopeAt,
    parts,
    uCelsius(celsius) {
      if (!Number.isFinite(celsius)) return Number.NaN
      const place = Math.round(celsius)
      let u = grid.get(place)
      if (u === undefined) {
        const found = parts(place)
        u =
          found.length === 0
            ? Number.NaN
            : 1e-3 * Math.sqrt(found.reduce((sum, part) => sum + part.uMk ** 2, 0))
        grid.set(place, u)
      }
      return u
    },
  }
}

/** Parts of a chain that are of its resistance, not of the way from there to a temperature. */
const OF_RESISTANCE: ReadonlySet<string> = new Set([
  'bridge',
  'resistor-calibration',
  'resistor-drift',
  'resistor-temperature',
  'standard',
])

/** The standard of a ratio at a temperature, taken to be that of the bath both are in: its resistance, and how well it is known. */
function standardAt(chain: Chain, celsius: number): { ohm: number; relative: number } {
  const ohm = chain.signalAt(celsius)
  const uMk = Math.hypot(
    ...chain.parts(celsius).flatMap((part) => (OF_RESISTANCE.has(part.name) ? [part.uMk] : [])),
  )
  return { ohm, relative: Math.abs((uMk * 1e-3 * chain.slopeAt(celsius)) / ohm) }
}

/** Where a junction that another channel measures is taken to be for the size of its uncertainty, degC: a room's temperature. */
const USUAL_JUNCTION_C = 23

/** Temperature of a reference junction that needs no other channel, degC. */
function fixedJunction({ junction }: Channel): number | undefined {
  if (junction?.kind === 'fixed') return junction.celsius
  return junction?.kind === 'compensated' ? 0 : undefined
}

function followed(channel: Channel): string[] {
  const follows: string[] = []
  if (channel.reference?.kind === 'channel') follows.push(channel.reference.channel)
  if (channel.junction?.kind === 'channel') follows.push(channel.junction.channel)
  return follows
}

function conversionOf(
  thermometer: Thermometer | undefined,
  calibration: ThermometerCalibration | undefined,
  wtp: WtpEntry | undefined,
): Conversion | undefined {
  if (!thermometer) return undefined
  if (!calibration) return nominalConversion(thermometer)
  const { conversion } = calibration
  if (conversion.kind !== 'its90' || !wtp) return conversion
  return { ...conversion, rWtp: wtp.ohm, uRWtp: wtp.uOhm }
}

function resistorOf(register: Register, channel: Channel, date: string): Chain['resistor'] {
  if (channel.reference?.kind !== 'resistor') return undefined
  const id = channel.reference.resistor
  const entry = register.resistors.find((r) => r.id === id)
  if (!entry) {
    throw new ChainError(
      'unknown-resistor',
      said('channel-resistor-unknown', { channel: channel.name, id }),
      { channel: channel.id, resistor: id },
    )
  }
  const calibration = inForce(entry.calibrations, date)
  if (!calibration) {
    throw new ChainError(
      'resistor-not-calibrated',
      said('resistor-not-calibrated', { entry: entry.name, date }),
      { channel: channel.id, resistor: id },
    )
  }
  return { entry, calibration, ...resistorValue(calibration, entry.keptAtC, date, entry.uKeptAtK) }
}

function instrumentOf(bench: Bench, register: Register, channel: Channel): InstrumentRecord | undefined {
  const instrument = bench.instruments.find((i) => i.id === channel.instrument)
  return register.instruments.find((r) => r.id === instrument?.register)
}

/** Throws ChainError where a channel in the end follows itself, or one that is not there. */
export function refuseCircle(bench: Bench, start: Channel): void {
  const visit = (at: Channel, above: readonly string[]): void => {
    for (const next of followed(at)) {
      if (next === start.id || above.includes(next)) {
        throw new ChainError('circle', said('channels-in-a-circle', { start: start.name, next }), {
          channel: start.id,
        })
      }
      const channel = bench.channels.find((c) => c.id === next)
      if (!channel) {
        throw new ChainError(
          'unknown-channel',
          said('channel-against-no-channel', { start: start.name, next }),
          { channel: start.id, reference: next },
        )
      }
      visit(channel, [...above, at.id])
    }
  }
  visit(start, [])
}
