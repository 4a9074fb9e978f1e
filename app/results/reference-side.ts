import { bridgeInForce, bridgeLinearityAt } from '../live/bridge-in-force.ts'
import { buildChain, type Chain } from '../live/chain.ts'
import { said } from '../messages/said.ts'
import type { Point, PointChannel } from '../records/point.ts'
import type { Prepared } from '../thermometry/convert.ts'
import { WTP_C } from '../thermometry/its90-reference.ts'
import {
  type ChannelRecord,
  calibrationMk,
  preparedFor,
  yearsBetween,
  zeroCurrentSignal,
} from './analysis-channel.ts'
import type { AnalysisInput } from './analysis-input.ts'
import { calibrationModes } from './calibration-modes.ts'
import { insulationOf } from './guided.ts'
import type { ReferenceFacts, ResistorFacts } from './pair-facts.ts'
import { ComparisonError } from './uncertainty-error.ts'
import { templateFor } from './uncertainty-template.ts'

/** Standard uncertainty with which a water triple point cell realises its temperature, mK; common practice, no source. */
export const WTP_CELL_MK = 0.1

/** A reference thermometer of a comparison: what gives every point its temperature. */
export interface ReferenceSide {
  readonly record: ChannelRecord
  readonly prepared: Prepared
  /** The chain of the session's own setup, through which its points were converted. */
  readonly recorded: Chain
  readonly facts: ReferenceFacts
  /** R(WTP) measured in this session, ohm, where the session has one. */
  readonly sessionWtp: {
    readonly ohm: number
    readonly uRelative: number
    readonly points: readonly string[]
  } | null
}

export const isCell = (point: Point): boolean => point.kind === 'wtp-before' || point.kind === 'wtp-after'

/** Repeatability of a point's channel: standard uncertainty of the mean, mK, and degrees of freedom. */
export function noise(at: PointChannel, mkPerRelative: number): { mk: number; dof: number } {
  // Values that do not vary have no effective number of their own.
  const effective = Number.isFinite(at.nEffective) ? at.nEffective : at.n
  const dof = Math.max(1, effective - 1)
  if (at.uTypeAMk !== null) return { mk: at.uTypeAMk, dof }
  const relative = at.rawMean === 0 ? 0 : at.rawSd / Math.sqrt(Math.max(1, effective)) / Math.abs(at.rawMean)
  return { mk: relative * Math.abs(mkPerRelative), dof }
}

export const slopeOf = (prepared: Prepared) => (signal: number) => {
  const { dValueDInput } = prepared.toTemperature(signal)
  return 1 / dValueDInput
}

export const mkPerRelative = (prepared: Prepared, signal: number): number =>
  signal * prepared.toTemperature(signal).dValueDInput * 1e3

/** R(WTP) of a channel from the session's own water triple point measurements, zero current; null where there is none. */
export function sessionWtpOf(
  record: ChannelRecord,
  prepared: Prepared,
  points: readonly Point[],
  fraction: number,
): ReferenceSide['sessionWtp'] {
  const found: { ohm: number; u: number; point: string }[] = []
  for (const point of points.filter(isCell)) {
    const at = point.channels.find((c) => c.channel === record.channel.id)
    const zero = at && zeroCurrentSignal(point, at, record, points, slopeOf(prepared), fraction)
    if (!at || !zero) continue
    const perRelative = mkPerRelative(prepared, zero.signal)
    // The register's figure is left to its own component: the same error stands in R(t) and in R(WTP) and partly cancels in W.
    const ofPairs = zero.from === 'register' ? 0 : zero.uMk
    const u = Math.hypot(noise(at, perRelative).mk, WTP_CELL_MK, ofPairs) / perRelative
    found.push({ ohm: zero.signal, u, point: point.id })
  }
  if (found.length === 0) return null
  const ohm = found.reduce((sum, f) => sum + f.ohm, 0) / found.length
  const squares = found.reduce((sum, f) => sum + (f.ohm / ohm - 1) ** 2, 0)
  const ofMean = found.length > 1 ? Math.sqrt(squares / (found.length - 1) / found.length) : 0
  return {
    ohm,
    // The cell's error is common to both measurements, so the mean is taken as no better than the worse of them; nor than
    // their own scatter says, which alone shows what wanders too slowly for the few readings of one.
    uRelative: Math.max(ofMean, ...found.map((f) => f.u)),
    points: found.map((f) => f.point),
  }
}

/** The reference of a comparison. Throws ComparisonError 'no-calibration' where none is in force. */
function referenceSide(
  record: ChannelRecord,
  recorded: Chain,
  points: readonly Point[],
  date: string,
  fraction: number,
  insulationOhm: number | null,
): ReferenceSide {
  const registered = preparedFor(record)
  if (!registered) {
    throw new ComparisonError(
      'no-calibration',
      said('reference-not-calibrated', { thermometer: record.thermometer.name, date }),
      { thermometer: record.thermometer.id, date },
    )
  }
  const its90 = record.calibration!.conversion.kind === 'its90'
  const sessionWtp = its90 ? sessionWtpOf(record, registered, points, fraction) : null
  const prepared = sessionWtp ? preparedFor(record, sessionWtp.ohm)! : registered
  return {
    record,
    prepared,
    recorded,
    sessionWtp,
    facts: referenceFacts(record, prepared, sessionWtp, date, insulationOhm),
  }
}

/** Relative standard uncertainties of the reference resistor of a channel; null where it has none. */
export function resistorFacts(record: ChannelRecord): ResistorFacts | null {
  if (!record.resistor) return null
  const { contributions, ohm } = record.resistor.value
  return {
    id: record.resistor.record.id,
    calibration: contributions.calibration / ohm,
    drift: contributions.drift / ohm,
    temperature: contributions.temperature / ohm,
  }
}

/** Relative standard uncertainty of a resistance by its reference resistor and the bridge's linearity. */
export function scaleRelative(record: ChannelRecord, ohm: number, date: string): number {
  const resistor = record.resistor?.value
  const bridge = bridgeInForce(record.instrument, date)
  const ratio = resistor ? ohm / resistor.ohm : null
  const uBridge = bridge && ratio ? bridgeLinearityAt(bridge, ratio) / ratio : 0
  return Math.hypot(resistor?.relativeUncertainty ?? 0, uBridge)
}

function referenceFacts(
  record: ChannelRecord,
  prepared: Prepared,
  sessionWtp: ReferenceSide['sessionWtp'],
  date: string,
  insulationOhm: number | null,
): ReferenceFacts {
  const calibration = record.calibration!
  const { conversion } = calibration
  const wtpEntry = conversion.kind === 'its90' ? record.wtp : null
  const registeredU = conversion.kind === 'its90' ? (conversion.uRWtp ?? 0) / Number(conversion.rWtp ?? 1) : 0
  const since = [calibration.date, wtpEntry?.date ?? ''].toSorted().at(-1)!
  const at0 = prepared.toSignal(WTP_C)
  return {
    name: record.thermometer.name,
    bridge: bridgeInForce(record.instrument, date),
    resistor: resistorFacts(record),
    ratioFromSession: sessionWtp !== null,
    calibrationMk: (t) => calibrationMk(calibration.uncertainty, t),
    calibrationModesMk: calibrationModes(prepared),
    wtpRelative: sessionWtp?.uRelative ?? (wtpEntry ? wtpEntry.uOhm / Number(wtpEntry.ohm) : registeredU),
    relativePerMkAtWtp: Math.abs(at0.dValueDInput / at0.value) * 1e-3,
    yearsSince: sessionWtp ? 0 : yearsBetween(since, date),
    insulationOhm,
  }
}

/** All references of a session that are switched on, in the order of the bench. Throws as `referenceSide` does. */
export function referenceSidesOf(
  records: readonly ChannelRecord[],
  input: AnalysisInput,
  date: string,
): readonly ReferenceSide[] {
  const { bench, register } = input.setup
  return records
    .filter((r) => r.channel.role === 'reference')
    .map((record) => {
      const template = templateFor(record.thermometer.kind, input.options?.templates)
      const fraction = template.components.find((c) => c.origin === 'self-heating-reference')?.figure ?? 0.2
      const channel = bench.channels.find((c) => c.id === record.channel.id)!
      const recorded = buildChain({ bench, register, date }, channel)
      const insulation = insulationOf(input.events).get(record.channel.id) ?? null
      return referenceSide(record, recorded, input.points, date, fraction, insulation)
    })
}
