import { utcDay } from '../base/times.ts'
import type { Conversion } from '../kinds/conversion.ts'
import { nominalConversion } from '../live/nominal.ts'
import { registeredHeatingMk } from '../live/registered-heating.ts'
import { said } from '../messages/said.ts'
import type { Bench, Channel } from '../records/bench.ts'
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
import { chiSquaredQuantile } from '../statistics/chi-squared.ts'
import { coverageFactor } from '../statistics/coverage.ts'
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
      said('channel-resistor-not-calibrated', { channel: channel.name, id, date }),
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
  /** Standard uncertainty of the correction, mK, and its degrees of freedom: Infinity where no pair told it. */
  readonly uMk: number
  readonly dof: number
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

/** Part by which the warming by a power may differ at another temperature of the same bath; common practice, no source. */
const ELSEWHERE = 0.05
/** Pairs agree with one dissipation constant up to this probability of chi-squared. */
const PAIRS_AGREE = 0.99

interface HeatingPerOhm {
  /** mK for each ohm (at the channel's own current), and its standard uncertainty. */
  readonly value: number
  readonly u: number
  readonly dof: number
}

/** The same by the pairs taken at one point, where the channel had the resistance `ohm`. */
interface HeatingOfPoint extends HeatingPerOhm {
  readonly point: string
  readonly ohm: number
}

/** Self-heating over resistance by each pair of a channel in the bath, or in a cell. */
function pairsOfChannel(
  channel: string,
  record: ChannelRecord,
  points: readonly Point[],
  slopeAt: (signal: number) => number,
): HeatingOfPoint[] {
  return points.flatMap((point) => {
    const at = point.channels.find((c) => c.channel === channel)
    if (!at || !isMeasured(at)) return []
    const own = measuredSignal(at, record)
    if (own === null || own === 0) return []
    const { mk, uMk } = heatingBy(at, own, slopeAt(own))
    const dof = Math.max(1, (at.nPairs ?? 1) - 1)
    return [{ point: point.id, ohm: own, value: mk / own, u: uMk / Math.abs(own), dof }]
  })
}

/**
 * The power I^2 R warms through one dissipation constant: all pairs of a medium together tell it, where they agree; null where
 * they do not. What a point's pairs repeat to, in mK, is taken to be the same at all of them and pooled, since few pairs tell
 * little of their own scatter:
 *
 *   u_p^2 = sum(nu_i u_i^2) / sum(nu_i),   h = sum(R_i dt_i) / sum(R_i^2),   u(h) = u_p / sqrt(sum R_i^2)
 *
 * Symbols: dt_i self-heating at the resistance R_i, u_i its standard uncertainty with nu_i degrees of freedom, h self-heating
 * over resistance. Source: JCGM 100:2008, 4.2.4 and H.3 (least squares).
 */
function together(pairs: readonly HeatingOfPoint[]): HeatingPerOhm | null {
  if (pairs.length < 2) return pairs[0] ?? null
  const dof = pairs.reduce((sum, p) => sum + p.dof, 0)
  const uMk = Math.sqrt(pairs.reduce((sum, p) => sum + p.dof * (p.u * p.ohm) ** 2, 0) / dof)
  const largest = Math.max(...pairs.map((p) => Math.abs(p.value * p.ohm)))
  const pooled = Math.max(uMk, largest * 1e-6)
  const squares = pairs.reduce((sum, p) => sum + p.ohm * p.ohm, 0)
  const value = pairs.reduce((sum, p) => sum + p.ohm * p.ohm * p.value, 0) / squares
  const chi = pairs.reduce((sum, p) => sum + ((p.ohm / pooled) * (p.value - value)) ** 2, 0)
  // The scatter is itself an estimate: as much wider as t is than the normal distribution, exact for two points.
  const wider = (coverageFactor(PAIRS_AGREE, dof) / coverageFactor(PAIRS_AGREE)) ** 2
  return chi <= wider * chiSquaredQuantile(PAIRS_AGREE, pairs.length - 1)
    ? { value, u: pooled / Math.sqrt(squares), dof }
    : null
}

/**
 * Brings a measured signal to zero current. In order: the pairs of currents taken in this session in the same medium, all
 * together where they agree; the pair taken at this very point; the register's figure for the thermometer; nothing. What was
 * not measured here is brought here in proportion to the power I^2 R. `fraction` is the standard uncertainty of the
 * register's figure, as a part of it.
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
  const corrected = (
    mk: number,
    uMk: number,
    from: ZeroCurrentSignal['from'],
    dof = Number.POSITIVE_INFINITY,
  ): ZeroCurrentSignal => ({
    signal: measured - slopeAt(measured) * mk * 1e-3,
    measuredSignal: measured,
    selfHeatingMk: mk,
    uMk,
    dof,
    from,
  })
  const isCell = (p: Point) => p.kind === 'wtp-before' || p.kind === 'wtp-after'
  const sameMedium = points.filter((p) => isCell(p) === isCell(point))
  const pairs = pairsOfChannel(at.channel, record, sameMedium, slopeAt)
  const own = pairs.find((p) => p.point === point.id)
  const known = together(pairs) ?? own
  if (known) {
    const mk = known.value * measured
    const uMk = Math.hypot(known.u * measured, own ? 0 : ELSEWHERE * mk)
    return corrected(mk, uMk, own ? 'pair' : 'pair-elsewhere', known.dof)
  }
  const nearest = nearestPair(point, pairs, points)
  if (nearest) {
    const mk = nearest.value * measured
    return corrected(mk, Math.hypot(nearest.u * measured, fraction * mk), 'pair-elsewhere', nearest.dof)
  }
  const { thermometer, channel } = record
  if (thermometer.selfHeatingMk !== undefined) {
    const nominal = nearConversionOf(thermometer)
    const mk = registeredHeatingMk(thermometer, channel.currentMa, measured, nominal)
    return corrected(mk, fraction * mk, 'register')
  }
  return corrected(0, 0, 'unknown')
}

/** Of pairs that disagree, the one taken nearest in temperature. */
function nearestPair<P extends { readonly point: string }>(
  point: Point,
  pairs: readonly P[],
  points: readonly Point[],
): P | undefined {
  const apart = ({ point: id }: P) =>
    Math.abs((points.find((p) => p.id === id)?.setpointC ?? 0) - point.setpointC)
  return pairs.toSorted((a, b) => apart(a) - apart(b))[0]
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
