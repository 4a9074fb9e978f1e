import { holdsAtZeroCurrent } from '../live/calibration-current.ts'
import type { Point, PointChannel } from '../records/point.ts'
import type { Prepared } from '../thermometry/convert.ts'
import { WTP_C } from '../thermometry/its90-reference.ts'
import { type ChannelRecord, type ZeroCurrentSignal, zeroCurrentSignal } from './analysis-channel.ts'
import type { LiftFacts, PairPoint, PlacesKnown, ReferencePoint, UniformityFacts } from './pair-facts.ts'
import { type Exchange, placeAt, placeDifference } from './places.ts'
import { type Agreement, referenceMean } from './reference-mean.ts'
import { isCell, mkPerRelative, noise, type ReferenceSide, slopeOf } from './reference-side.ts'
import { referenceAtPlace, underTestAtPlace } from './uncertainty-places.ts'
import type { BudgetTemplate } from './uncertainty-template.ts'

/** A pair of reference and thermometer under test at one point, with the readings it came from. */
export interface Pair extends PairPoint {
  readonly label: string | null
  readonly setpointC: number
  /** The first reference that has a part in it; the others stand in `agreement`. */
  readonly referenceAt: PointChannel | null
  readonly reference: ZeroCurrentSignal | null
  /** What each of several references says; null with one. */
  readonly agreement: Agreement | null
  readonly underTestAt: PointChannel
  readonly underTest: ZeroCurrentSignal
  readonly startUtcUs: number
  readonly endUtcUs: number
  readonly settled: boolean
  /** Taken part in the fit; else left out by a person, for the reason given. */
  readonly leftOutBecause: string | null
}

export interface PairSource {
  readonly references: readonly ReferenceSide[]
  readonly record: ChannelRecord
  /** A conversion near the thermometer's own, for slopes only. */
  readonly near: Prepared
  readonly points: readonly Point[]
  readonly template: BudgetTemplate
  readonly uniformity: UniformityFacts
  /** What exchanges of places in the session tell. */
  readonly exchanges: readonly Exchange[]
  readonly referenceFraction: number
  readonly underTestFraction: number
  leftOut(point: string, channel: string): string | null
}

interface Seen {
  readonly celsius: number
  readonly own: PointChannel
  readonly zero: ZeroCurrentSignal
  readonly at: ReferencePoint
}

/** One reference's temperature at the time of a thermometer under test, through the records in force now. */
function seenBy(side: ReferenceSide, source: PairSource, point: Point, at: PointChannel): Seen | null {
  const { prepared, record } = side
  const { id } = record.channel
  const own = point.channels.find((c) => c.channel === id)
  if (!own || source.leftOut(point.id, id) !== null) return null
  const correct = holdsAtZeroCurrent(record.calibration!)
  const { points, referenceFraction } = source
  const found = zeroCurrentSignal(point, own, record, points, slopeOf(prepared), referenceFraction)
  if (!found) return null
  const zero = correct ? found : { ...found, signal: found.measuredSignal, uMk: 0 }
  const celsius = prepared.toTemperature(zero.signal).value
  // The point keeps the reference brought to this channel's mean time through the chain of that day; a record
  // corrected since moves it by as much as it moves the reference's own mean.
  const then = at.references?.find((r) => r.channel === id)?.celsius ?? at.referenceC
  const atTime = then !== null && own.t90C !== null ? then + (celsius - own.t90C) : celsius
  if (!Number.isFinite(atTime)) return null
  const perRelative = mkPerRelative(prepared, zero.signal)
  const ownNoise = noise(own, perRelative)
  const [there, here] = [placeAt(point, at.channel), placeAt(point, id)]
  const places =
    there === undefined || here === undefined ? null : placesKnown(source, at.channel, there, here, point)
  const isOhm = prepared.signal === 'resistance'
  return {
    // The temperature where the thermometer under test stands.
    celsius: atTime + (places?.mk ?? 0) * 1e-3,
    own,
    zero,
    at: {
      weight: 1,
      mkPerRelative: perRelative,
      ratio: own.rawUnit === 'ratio' ? own.rawMean : null,
      noiseMk: ownNoise.mk,
      noiseDof: ownNoise.dof,
      selfHeatingMk: zero.uMk,
      selfHeatingDof: zero.dof,
      ohm: isOhm ? zero.measuredSignal : null,
      ohmAtWtp: isOhm ? prepared.toSignal(WTP_C).value : 0,
      places,
    },
  }
}

function placesKnown(
  { exchanges, references }: PairSource,
  underTest: string,
  there: string,
  here: string,
  { setpointC }: Point,
): PlacesKnown | null {
  const found = placeDifference(exchanges, there, here, setpointC)
  const ofReference = (channel: string) => {
    const k = references.findIndex(({ record }) => record.channel.id === channel)
    return k < 0 ? 'another' : k
  }
  return (
    found && {
      ...found,
      errors: found.errors.map((e) => ({
        ...e,
        of: e.channel === underTest ? 'under-test' : ofReference(e.channel),
      })),
    }
  )
}

const ABSENT: ReferencePoint = {
  weight: 0,
  mkPerRelative: 0,
  ratio: null,
  noiseMk: 0,
  noiseDof: Number.POSITIVE_INFINITY,
  selfHeatingMk: 0,
  selfHeatingDof: Number.POSITIVE_INFINITY,
  ohm: null,
  ohmAtWtp: 0,
  places: null,
}

function cellPair(source: PairSource, point: Point, at: PointChannel): Pair | null {
  const { record, near, points, underTestFraction } = source
  const zero = zeroCurrentSignal(point, at, record, points, slopeOf(near), underTestFraction)
  if (!zero) return null
  return {
    ...underTestOf(source, point, at, zero),
    setpointC: WTP_C,
    cell: true,
    referenceC: WTP_C,
    references: [],
    unbracketedMk: 0,
    disagreementMk: 0,
    referenceAt: null,
    reference: null,
    agreement: null,
  }
}

function underTestOf(source: PairSource, point: Point, at: PointChannel, zero: ZeroCurrentSignal) {
  const perRelative = mkPerRelative(source.near, zero.signal)
  const own = noise(at, perRelative)
  return {
    point: point.id,
    label: point.label,
    setpointC: point.setpointC,
    underTestMkPerRelative: perRelative,
    underTestRatio: at.rawUnit === 'ratio' ? at.rawMean : null,
    underTestNoiseMk: own.mk,
    underTestNoiseDof: own.dof,
    underTestSelfHeatingMk: zero.uMk,
    underTestSelfHeatingDof: zero.dof,
    junctionPart: junctionPart(source, zero.signal),
    underTestSignal: zero.measuredSignal,
    underTestOhm: source.near.signal === 'resistance' ? zero.measuredSignal : null,
    underTestAt: at,
    underTest: zero,
    startUtcUs: point.startUtcUs,
    endUtcUs: point.endUtcUs,
    settled: point.settled,
    leftOutBecause: source.leftOut(point.id, at.channel),
  }
}

/** Where a junction stands that follows a channel, for its sensitivity only, degC: near a room's temperature. */
const FOLLOWED_C = 20

/**
 * A thermocouple shows E(t) - E(t_j): an error of the junction t_j acts by the sensitivity there over that at t,
 * (dE/dt at t_j) / (dE/dt at t). Source: IEC 60584-1 (reference functions), by the law of intermediate temperatures.
 */
function junctionPart({ record, near }: PairSource, signal: number): number {
  const { junction } = record.channel
  if (near.signal !== 'voltage') return 0
  const at = junction?.kind === 'fixed' ? junction.celsius : junction?.kind === 'channel' ? FOLLOWED_C : 0
  const part = near.toSignal(at).dValueDInput * near.toTemperature(signal).dValueDInput
  return Number.isFinite(part) ? Math.abs(part) : 1
}

function bathPair(source: PairSource, point: Point, at: PointChannel): Pair | null {
  const { references, record, near, points } = source
  const zero = zeroCurrentSignal(point, at, record, points, slopeOf(near), source.underTestFraction)
  const seen = references.map((side) => seenBy(side, source, point, at))
  const first = seen.find((s) => s !== null)
  if (!zero || !first) return null
  const mean = referenceMean(
    references.flatMap((side, k) => {
      const one = seen[k]
      return one ? [{ side, celsius: one.celsius, at: one.at, place: k }] : []
    }),
    source,
  )
  const weightOf = (k: number) => mean.weights.get(k) ?? 0
  const heldS = at.referenceHeldS ?? 0
  const drift = Math.abs(first.own.driftMkPerMin ?? 0)
  return {
    ...underTestOf(source, point, at, zero),
    cell: false,
    referenceC: mean.celsius,
    references: seen.map((one, k) => (one ? { ...one.at, weight: weightOf(k) } : ABSENT)),
    unbracketedMk: (drift * heldS) / 60,
    disagreementMk: mean.disagreementMk,
    referenceAt: first.own,
    reference: seen[0] ? seen[0].zero : null,
    agreement: mean.agreement,
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

/** All pairs of one thermometer under test with the references, in the order of the points. */
export function pairsOf(source: PairSource): Pair[] {
  const pairs = ownPairs(source)
  const bath = pairs.filter((p) => !p.cell)
  if (bath.length === 0) return pairs
  const references = source.references.map((_, k) =>
    pooled(
      bath.flatMap(({ references: at }) =>
        at[k] && at[k] !== ABSENT ? [{ mk: at[k].noiseMk, dof: at[k].noiseDof }] : [],
      ),
    ),
  )
  const test = pooled(bath.map((p) => ({ mk: p.underTestNoiseMk, dof: p.underTestNoiseDof })))
  return pairs.map((p) =>
    p.cell
      ? p
      : {
          ...p,
          references: p.references.map((at, k) =>
            at === ABSENT ? at : { ...at, noiseMk: references[k]!.mk, noiseDof: references[k]!.dof },
          ),
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

/** Thermometer under test less reference at a point of the bath, mK, with the conversion for slopes. */
export function differenceMkAt(source: PairSource, point: Point): number | null {
  const at = point.channels.find((c) => c.channel === source.record.channel.id)
  const pair = at && bathPair(source, point, at)
  if (!pair) return null
  return (source.near.toTemperature(pair.underTest.signal).value - pair.referenceC) * 1e3
}

/**
 * What the newest lift of the thermometers changed: against the last point before it at the same temperature with everybody in
 * the same place; null without one. Both repeat as well as a point does: `like` is one of the pairs, pooled.
 */
export function liftOf(source: PairSource, stabilityMk: number, like: Pair): LiftFacts | null {
  const { points } = source
  const i = points.findLastIndex((p) => p.kind === 'lift')
  const lift = points[i]
  if (!lift?.liftMm) return null
  const sameAs = (p: Point) =>
    p.kind === 'comparison' &&
    Math.abs(p.setpointC - lift.setpointC) < 0.5 &&
    JSON.stringify(p.places) === JSON.stringify(lift.places)
  const before = points.slice(0, i).findLast(sameAs)
  const immersedMk = before ? differenceMkAt(source, before) : null
  const liftedMk = differenceMkAt(source, lift)
  if (immersedMk === null || liftedMk === null) return null
  return {
    celsius: lift.setpointC,
    changeMk: liftedMk - immersedMk,
    uMk:
      Math.SQRT2 *
      Math.hypot(underTestAtPlace(like, stabilityMk).uMk, referenceAtPlace(like, stabilityMk).uMk),
    liftMm: lift.liftMm,
  }
}
