import { utcDay } from '../base/times.ts'
import { nominalConversion } from '../live/nominal.ts'
import { registeredHeatingMk } from '../live/registered-heating.ts'
import type { Bench, Channel } from '../records/bench.ts'
import type { Conversion } from '../records/conversion.ts'
import type { Point, PointChannel } from '../records/point.ts'
import {
  type CalibrationUncertainty,
  type InstrumentRecord,
  inForce,
  type Resistor,
  type ResistorCalibration,
  type Thermometer,
  type ThermometerCalibration,
  type WtpEntry,
} from '../records/register.ts'
import type { SessionInfo, SessionSetup } from '../records/session.ts'
import { type Prepared, prepare } from '../thermometry/convert.ts'
import { type ResistorValue, resistorValue } from '../thermometry/resistor.ts'
import { betweenTemperatures } from './between.ts'
import { ComparisonError } from './uncertainty-error.ts'

/** The day whose calibrations count: that of the session's start, UTC. */
export function sessionDate(info: SessionInfo): string {
  return utcDay(info.startedUtcUs)
}

/** A reference resistor as it stood on the day. */
export interface ResistorInForce {
  readonly record: Resistor
  readonly calibration: ResistorCalibration
  readonly value: ResistorValue
}

/** A channel with everything the register says of what hangs on it. */
export interface ChannelRecord {
  readonly channel: Channel
  readonly thermometer: Thermometer
  readonly calibration: ThermometerCalibration | null
  readonly resistor: ResistorInForce | null
  readonly instrument: InstrumentRecord | null
  readonly wtp: WtpEntry | null
}

function resistorOf(channel: Channel, setup: SessionSetup, date: string): ResistorInForce | null {
  if (channel.reference?.kind !== 'resistor') return null
  const id = channel.reference.resistor
  const record = setup.register.resistors.find((r) => r.id === id)
  const calibration = record && inForce(record.calibrations, date)
  if (!record || !calibration) {
    throw new ComparisonError(
      'no-resistor',
      `Channel ${channel.name} is measured against resistor ${id}, which has no calibration in force on ${date}. ` +
        'Enter its certificate in the register.',
      { channel: channel.id, resistor: id, date },
    )
  }
  return {
    record,
    calibration,
    value: resistorValue(calibration, record.keptAtC, date, record.uKeptAtK),
  }
}

function instrumentOf(channel: Channel, bench: Bench, setup: SessionSetup): InstrumentRecord | null {
  const onBench = bench.instruments.find((i) => i.id === channel.instrument)
  const id = onBench?.register ?? channel.instrument
  return setup.register.instruments.find((i) => i.id === id) ?? null
}

/** A channel's records on a day; null where no thermometer hangs on it. */
export function channelRecord(channel: Channel, setup: SessionSetup, date: string): ChannelRecord | null {
  const thermometer = setup.register.thermometers.find((t) => t.id === channel.thermometer)
  if (!thermometer) return null
  return {
    channel,
    thermometer,
    calibration: inForce(thermometer.calibrations, date) ?? null,
    resistor: resistorOf(channel, setup, date),
    instrument: instrumentOf(channel, setup.bench, setup),
    wtp: inForce(thermometer.wtpHistory, date) ?? null,
  }
}

/** Standard uncertainty of a calibration at a temperature, mK; 0 where the certificate gave none. */
export function calibrationMk(uncertainty: CalibrationUncertainty | undefined, celsius: number): number {
  if (!uncertainty) return 0
  return betweenTemperatures(uncertainty.points, 'expandedMk', celsius) / uncertainty.k
}

/** Days between two dates in years of 365.25 days. */
export function yearsBetween(fromIso: string, toIso: string): number {
  return Math.max(0, (Date.parse(toIso) - Date.parse(fromIso)) / (365.25 * 86_400_000))
}

/** What a point's channel measured, ohm (mV for thermocouples), brought to zero current where that is known. */
export interface ZeroCurrentSignal {
  readonly signal: number
  readonly measuredSignal: number
  readonly selfHeatingMk: number
  /** Standard uncertainty of the correction, mK. */
  readonly uMk: number
  readonly from: 'pair' | 'pair-elsewhere' | 'register' | 'unknown'
}

/** Ohm (or mV) as measured: the raw mean times the reference resistor in force. */
export function measuredSignal(at: PointChannel, record: ChannelRecord): number | null {
  if (at.rawUnit === 'ratio') return record.resistor ? at.rawMean * record.resistor.value.ohm : at.signal
  if (at.rawUnit === 'V') return at.rawMean * 1000
  return at.rawUnit === 'ohm' || at.rawUnit === 'mV' ? at.rawMean : at.signal
}

/** A self-heating that was found by pairs of currents at some point of the session. */
type MeasuredHeating = PointChannel & { readonly selfHeatingMk: number }

const isMeasured = (at: PointChannel): at is MeasuredHeating => at.selfHeatingMk !== null

/** The same channel's self-heating at the point nearest in temperature at which a pair of currents was taken. */
function nearestPair(point: Point, channel: string, points: readonly Point[]): MeasuredHeating | null {
  let best: { at: MeasuredHeating; apart: number } | null = null
  for (const other of points) {
    const at = other.channels.find((c) => c.channel === channel)
    if (!at || !isMeasured(at)) continue
    const apart = Math.abs(other.setpointC - point.setpointC)
    if (!best || apart < best.apart) best = { at, apart }
  }
  return best?.at ?? null
}

/**
 * Self-heating of a pair through the slope in use now: what was stored is the part of the signal, and that in mK came of a
 * slope that may have been a nominal one.
 */
function heatingBy(at: MeasuredHeating, signal: number, slope: number): { mk: number; uMk: number } {
  const u = at.uSelfHeatingMk ?? 0
  if (at.signal === null || at.signalZeroCurrent === null) return { mk: at.selfHeatingMk, uMk: u }
  const mk = ((signal * (1 - at.signalZeroCurrent / at.signal)) / slope) * 1e3
  return { mk, uMk: at.selfHeatingMk === 0 ? u : u * Math.abs(mk / at.selfHeatingMk) }
}

/**
 * Brings a measured signal to zero current. In order: the pair of currents taken at this point, the pair taken at the
 * nearest other temperature, the register's figure for the thermometer, nothing. What was not measured here is brought
 * here in proportion to the power I^2 R. `fraction` is its standard uncertainty then, as a part of it.
 *
 *   R(0 mA) = R(I) - (dR/dt) dt,  dt self-heating
 */
export function zeroCurrentSignal(
  point: Point,
  at: PointChannel,
  record: ChannelRecord,
  points: readonly Point[],
  slopeAt: (signal: number) => number,
  fraction: number,
): ZeroCurrentSignal | null {
  const measured = measuredSignal(at, record)
  if (measured === null || !Number.isFinite(measured)) return null
  const corrected = (mk: number, uMk: number, from: ZeroCurrentSignal['from']): ZeroCurrentSignal => ({
    signal: measured - slopeAt(measured) * mk * 1e-3,
    measuredSignal: measured,
    selfHeatingMk: mk,
    uMk,
    from,
  })
  if (isMeasured(at)) {
    const { mk, uMk } = heatingBy(at, measured, slopeAt(measured))
    return corrected(mk, uMk, 'pair')
  }
  const near = nearestPair(point, at.channel, points)
  if (near) {
    const own = measuredSignal(near, record) ?? measured
    const { mk, uMk } = heatingBy(near, own, slopeAt(own))
    const power = Math.abs(measured / own)
    return corrected(mk * power, Math.hypot(uMk * power, fraction * mk * power), 'pair-elsewhere')
  }
  const { thermometer, channel } = record
  if (thermometer.selfHeatingMk !== undefined) {
    const nominal = nearConversionOf(thermometer)
    const mk = registeredHeatingMk(thermometer, channel.currentMa, measured, nominal)
    return corrected(mk, fraction * mk, 'register')
  }
  return corrected(0, 0, 'unknown')
}

/** Resistance that a thermometer of its kind has at a temperature, for what the register does not state. */
function nearConversionOf(thermometer: Thermometer): (celsius: number) => number {
  const conversion = nominalConversion(thermometer)
  const prepared = conversion && prepare(conversion)
  return (celsius) => prepared?.toSignal(celsius).value ?? Number.NaN
}

/** A conversion with another R(WTP) in it; only ITS-90 conversions carry one. */
export function withRWtp(conversion: Conversion, ohm: number | string): Conversion {
  return conversion.kind === 'its90' ? { ...conversion, rWtp: ohm } : conversion
}

/** The conversion of a calibration with the R(WTP) in force on the day, or the one given, made ready. */
export function preparedFor(record: ChannelRecord, rWtp?: number): Prepared | null {
  if (!record.calibration) return null
  const { conversion } = record.calibration
  const ohm = rWtp ?? record.wtp?.ohm
  return prepare(ohm === undefined ? conversion : withRWtp(conversion, ohm))
}
