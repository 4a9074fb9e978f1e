import type { Point, PointChannel } from '../records/point.ts'
import type { Prepared } from '../thermometry/convert.ts'
import { WTP_C } from '../thermometry/its90-reference.ts'
import {
  type ChannelRecord,
  preparedFor,
  type ZeroCurrentSignal,
  zeroCurrentSignal,
} from './analysis-channel.ts'
import { holdsAtZeroCurrent } from '../live/calibration-current.ts'
import type { Chain } from '../live/chain.ts'
import { ComparisonError } from './uncertainty-error.ts'
import type { PairPoint } from './uncertainty-sources.ts'

/** Standard uncertainty with which a water triple point cell realises its temperature, mK; common practice, no source. */
export const WTP_CELL_MK = 0.1

/** The reference side of a comparison: what gives every point its temperature. */
export interface ReferenceSide {
  readonly record: ChannelRecord
  readonly prepared: Prepared
  /** The chain of the session's own setup, through which its points were converted. */
  readonly recorded: Chain
  /** R(WTP) measured in this session, ohm, where the session has one. */
  readonly sessionWtp: {
    readonly ohm: number
    readonly uRelative: number
    readonly points: readonly string[]
  } | null
}

/** A pair of reference and thermometer under test at one point, with the readings it came from. */
export interface Pair extends PairPoint {
  readonly label: string | null
  readonly setpointC: number
  /** Realised by a water triple point cell, not by the reference thermometer. */
  readonly cell: boolean
  readonly referenceAt: PointChannel | null
  readonly underTestAt: PointChannel
  readonly reference: ZeroCurrentSignal | null
  readonly underTest: ZeroCurrentSignal
  readonly startUtcUs: number
  readonly endUtcUs: number
  readonly settled: boolean
  /** Taken part in the fit; else left out by a person, for the reason given. */
  readonly leftOutBecause: string | null
}

export const isCell = (point: Point): boolean => point.kind === 'wtp-before' || point.kind === 'wtp-after'

/** Repeatability of a point's channel: standard uncertainty of the mean, mK, and degrees of freedom. */
function noise(at: PointChannel, mkPerRelative: number): { mk: number; dof: number } {
  // Values that do not vary have no effective number of their own.
  const effective = Number.isFinite(at.nEffective) ? at.nEffective : at.n
  const dof = Math.max(1, effective - 1)
  if (at.uTypeAMk !== null) return { mk: at.uTypeAMk, dof }
  const relative = at.rawMean === 0 ? 0 : at.rawSd / Math.sqrt(Math.max(1, effective)) / Math.abs(at.rawMean)
  return { mk: relative * Math.abs(mkPerRelative), dof }
}

const slopeOf = (prepared: Prepared) => (signal: number) => {
  const { dValueDInput } = prepared.toTemperature(signal)
  return 1 / dValueDInput
}

const mkPerRelative = (prepared: Prepared, signal: number): number =>
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
    // Self-heating is left to its own component: the same error stands in R(t) and in R(WTP) and partly cancels in W.
    const u = Math.hypot(noise(at, perRelative).mk, WTP_CELL_MK) / perRelative
    found.push({ ohm: zero.signal, u, point: point.id })
  }
  if (found.length === 0) return null
  return {
    ohm: found.reduce((sum, f) => sum + f.ohm, 0) / found.length,
    // The cell's error is common to both measurements, so the mean is taken as no better than the worse of them.
    uRelative: Math.max(...found.map((f) => f.u)),
    points: found.map((f) => f.point),
  }
}

/** The reference of a comparison. Throws ComparisonError 'no-calibration' where none is in force. */
export function referenceSide(
  record: ChannelRecord,
  recorded: Chain,
  points: readonly Point[],
  date: string,
  fraction: number,
): ReferenceSide {
  const registered = preparedFor(record)
  if (!registered) {
    throw new ComparisonError(
      'no-calibration',
      `The reference thermometer ${record.thermometer.name} has no calibration in force on ${date}. ` +
        'Enter its certificate in the register.',
      { thermometer: record.thermometer.id, date },
    )
  }
  const its90 = record.calibration!.conversion.kind === 'its90'
  const sessionWtp = its90 ? sessionWtpOf(record, registered, points, fraction) : null
  const prepared = sessionWtp ? preparedFor(record, sessionWtp.ohm)! : registered
  return { record, prepared, recorded, sessionWtp }
}

/** Reference temperature at the time of a thermometer under test, through the records in force now. */
function referenceAtTime(
  reference: ReferenceSide,
  point: Point,
  at: PointChannel,
  points: readonly Point[],
  fraction: number,
): { celsius: number; own: PointChannel; zero: ZeroCurrentSignal } | null {
  const own = point.channels.find((c) => c.channel === reference.record.channel.id)
  if (!own) return null
  const { prepared, record } = reference
  const correct = holdsAtZeroCurrent(record.calibration!)
  const zero = zeroCurrentSignal(point, own, record, points, slopeOf(prepared), fraction)
  if (!zero) return null
  const celsius = prepared.toTemperature(correct ? zero.signal : zero.measuredSignal).value
  // The point keeps the reference brought to this channel's mean time through the chain of that day; a record
  // corrected since moves it by as much as it moves the reference's own mean.
  const atTime = at.referenceC !== null && own.t90C !== null ? at.referenceC + (celsius - own.t90C) : celsius
  return { celsius: atTime, own, zero: correct ? zero : { ...zero, signal: zero.measuredSignal, uMk: 0 } }
}

export interface PairSource {
  readonly reference: ReferenceSide
  readonly record: ChannelRecord
  /** A conversion near the thermometer's own, for slopes only. */
  readonly near: Prepared
  readonly points: readonly Point[]
  readonly referenceFraction: number
  readonly underTestFraction: number
  leftOut(point: string, channel: string): string | null
}

function cellPair(source: PairSource, point: Point, at: PointChannel): Pair | null {
  const { record, near, points, underTestFraction } = source
  const zero = zeroCurrentSignal(point, at, record, points, slopeOf(near), underTestFraction)
  if (!zero) return null
  const perRelative = mkPerRelative(near, zero.signal)
  const own = noise(at, perRelative)
  return {
    point: point.id,
    label: point.label,
    setpointC: WTP_C,
    cell: true,
    referenceC: WTP_C,
    referenceMkPerRelative: 0,
    underTestMkPerRelative: perRelative,
    referenceRatio: null,
    underTestRatio: at.rawUnit === 'ratio' ? at.rawMean : null,
    referenceNoiseMk: 0,
    referenceNoiseDof: Number.POSITIVE_INFINITY,
    underTestNoiseMk: own.mk,
    underTestNoiseDof: own.dof,
    referenceSelfHeatingMk: 0,
    underTestSelfHeatingMk: zero.uMk,
    referenceAt: null,
    underTestAt: at,
    reference: null,
    underTest: zero,
    startUtcUs: point.startUtcUs,
    endUtcUs: point.endUtcUs,
    settled: point.settled,
    leftOutBecause: source.leftOut(point.id, at.channel),
  }
}

function bathPair(source: PairSource, point: Point, at: PointChannel): Pair | null {
  const { reference, record, near, points } = source
  const found = referenceAtTime(reference, point, at, points, source.referenceFraction)
  const zero = zeroCurrentSignal(point, at, record, points, slopeOf(near), source.underTestFraction)
  if (!found || !zero || !Number.isFinite(found.celsius)) return null
  const ofReference = mkPerRelative(reference.prepared, found.zero.signal)
  const ofTest = mkPerRelative(near, zero.signal)
  const referenceNoise = noise(found.own, ofReference)
  const testNoise = noise(at, ofTest)
  return {
    point: point.id,
    label: point.label,
    setpointC: point.setpointC,
    cell: false,
    referenceC: found.celsius,
    referenceMkPerRelative: ofReference,
    underTestMkPerRelative: ofTest,
    referenceRatio: found.own.rawUnit === 'ratio' ? found.own.rawMean : null,
    underTestRatio: at.rawUnit === 'ratio' ? at.rawMean : null,
    referenceNoiseMk: referenceNoise.mk,
    referenceNoiseDof: referenceNoise.dof,
    underTestNoiseMk: testNoise.mk,
    underTestNoiseDof: testNoise.dof,
    referenceSelfHeatingMk: found.zero.uMk,
    underTestSelfHeatingMk: zero.uMk,
    referenceAt: found.own,
    underTestAt: at,
    reference: found.zero,
    underTest: zero,
    startUtcUs: point.startUtcUs,
    endUtcUs: point.endUtcUs,
    settled: point.settled,
    leftOutBecause: source.leftOut(point.id, at.channel),
  }
}

/**
 * Repeatability pooled over the points: a handful of readings tells little of their own spread, all points together
 * tell it well.
 *
 *   u_p^2 = sum(nu_i u_i^2) / sum(nu_i),  nu_p = sum(nu_i)
 *
 * Source: JCGM 100:2008, 4.2.4 (pooled estimate of variance).
 */
function pooled(parts: readonly { mk: number; dof: number }[]): { mk: number; dof: number } {
  const dof = parts.reduce((sum, p) => sum + p.dof, 0)
  const squares = parts.reduce((sum, p) => sum + p.dof * p.mk * p.mk, 0)
  return { mk: Math.sqrt(squares / dof), dof }
}

/** All pairs of one thermometer under test with the reference, in the order of the points. */
export function pairsOf(source: PairSource): Pair[] {
  const pairs = ownPairs(source)
  const bath = pairs.filter((p) => !p.cell)
  if (bath.length === 0) return pairs
  const reference = pooled(bath.map((p) => ({ mk: p.referenceNoiseMk, dof: p.referenceNoiseDof })))
  const test = pooled(bath.map((p) => ({ mk: p.underTestNoiseMk, dof: p.underTestNoiseDof })))
  return pairs.map((p) =>
    p.cell
      ? p
      : {
          ...p,
          referenceNoiseMk: reference.mk,
          referenceNoiseDof: reference.dof,
          underTestNoiseMk: test.mk,
          underTestNoiseDof: test.dof,
        },
  )
}

function ownPairs(source: PairSource): Pair[] {
  return source.points.flatMap((point) => {
    const at = point.channels.find((c) => c.channel === source.record.channel.id)
    if (!at || (point.kind !== 'comparison' && !isCell(point))) return []
    const pair = isCell(point) ? cellPair(source, point, at) : bathPair(source, point, at)
    return pair ? [pair] : []
  })
}
