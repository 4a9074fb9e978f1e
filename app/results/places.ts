import { entryOf } from '../base/lists.ts'
import type { Point } from '../records/point.ts'
import { coverageFactor } from '../statistics/coverage.ts'
import { StatisticsError } from '../statistics/errors.ts'
import { fQuantile } from '../statistics/fisher-f.ts'
import { weightedLeastSquares } from '../statistics/least-squares.ts'
import { weightedMean } from '../statistics/weighted-mean.ts'

/** A thermometer at a point as far as the exchange of places needs it. */
export interface Standing {
  readonly point: string
  readonly channel: string
  /** Less the first reference at the same time, by a conversion that is the same for all points, mK. */
  readonly differenceMk: number
  /** Standard uncertainties by the readings and by the movement of the place, mK: of its own, and of the reference's side. */
  readonly uMk: number
  readonly uReferenceMk: number
  readonly degreesOfFreedom: number
  readonly referenceDegreesOfFreedom: number
}

/** One error that an exchange carries into the offsets of the places: of a thermometer at one of its points. */
export interface PlacesError {
  readonly point: string
  readonly channel: string
  /** Standard uncertainty, mK, and its degrees of freedom: one estimate for all points of a thermometer. */
  readonly uMk: number
  readonly degreesOfFreedom: number
}

/** Temperatures of places against one of them, as one exchange of thermometers found them. */
export interface Exchange {
  readonly celsius: number
  readonly points: readonly string[]
  readonly places: readonly string[]
  /** By place, mK; the first place is 0. */
  readonly offsetMk: ReadonlyMap<string, number>
  /** What the readings were off by, each independent of the others. */
  readonly errors: readonly PlacesError[]
  /** By place: its offset by each of those errors, mK/mK. */
  readonly parts: ReadonlyMap<string, readonly number[]>
}

const SAME_K = 0.5

/** Points one after another at one temperature, between which thermometers changed places. */
function runsOf(points: readonly Point[]): Point[][] {
  const runs: Point[][] = []
  for (const point of points) {
    if (point.kind !== 'comparison' || !point.places) continue
    const last = runs.at(-1)?.[0]
    if (last && Math.abs(last.setpointC - point.setpointC) < SAME_K) runs.at(-1)!.push(point)
    else runs.push([point])
  }
  return runs.filter((run) => new Set(run.map((p) => JSON.stringify(p.places))).size > 1)
}

/**
 * What an exchange of places says: with d the difference of a thermometer from the reference before and after,
 *
 *   d_j = D_j + o(place of j) - o(place of the reference)
 *
 * D_j belongs to the thermometer and o to the place, so that thermometers which change places part the two. Least squares
 * over all thermometers; one place is the zero. A set of moves that leaves a place undetermined says nothing. The offsets are
 * linear in what was read, and how each of its errors goes on into them is kept: the same errors stand in the points themselves.
 *
 *   L = (X' W X)^-1 X' W
 *
 * Symbols: X design, W weights, L offsets by errors.
 * Source: common practice, no source; the least squares as in JCGM 100:2008, H.3.
 */
export function exchangesOf(
  points: readonly Point[],
  reference: string,
  standing: (point: Point) => readonly Standing[],
): Exchange[] {
  return runsOf(points).flatMap((run) => {
    const zero = placeAt(run[0]!, reference)
    if (zero === undefined) return []
    const seen = run.flatMap((point) =>
      standing(point).flatMap((s) => {
        const place = placeAt(point, s.channel)
        const own = placeAt(point, reference)
        return place === undefined || own === undefined ? [] : [{ ...s, place, own }]
      }),
    )
    const channels = [...new Set(seen.map((s) => s.channel))]
    const places = [...new Set(seen.flatMap((s) => [s.place, s.own]))].filter((p) => p !== zero)
    // What the reference's side is off by at a point is the same for all thermometers there: an unknown near zero.
    const ids = run.map((p) => p.id)
    const sides = ids.flatMap((id) => seen.find((s) => s.point === id) ?? [])
    const design = [
      ...seen.map((s) => [
        ...channels.map((c) => Number(c === s.channel)),
        ...ids.map((id) => Number(id === s.point)),
        ...places.map((p) => Number(p === s.place) - Number(p === s.own)),
      ]),
      ...sides.map((s) => [
        ...channels.map(() => 0),
        ...ids.map((id) => Number(id === s.point)),
        ...places.map(() => 0),
      ]),
    ]
    try {
      const { coefficients, covariance } = weightedLeastSquares(
        design,
        [...seen.map((s) => s.differenceMk), ...sides.map(() => 0)],
        [...seen.map((s) => 1 / s.uMk ** 2), ...sides.map((s) => 1 / s.uReferenceMk ** 2)],
        { weightsAre: 'absolute' },
      )
      const from = channels.length + ids.length
      const errors = [
        ...seen.map(({ point, channel, uMk, degreesOfFreedom }) => ({
          point,
          channel,
          uMk,
          degreesOfFreedom,
        })),
        ...sides.map((s) => ({
          point: s.point,
          channel: reference,
          uMk: s.uReferenceMk,
          degreesOfFreedom: s.referenceDegreesOfFreedom,
        })),
      ]
      const parts = (i: number) =>
        errors.map(
          ({ uMk }, k) => covariance[from + i]!.reduce((sum, c, j) => sum + c * design[k]![j]!, 0) / uMk ** 2,
        )
      return [
        {
          celsius: run[0]!.setpointC,
          points: run.map((p) => p.id),
          places: [zero, ...places],
          offsetMk: new Map([
            [zero, 0],
            ...places.map((p, i): [string, number] => [p, coefficients[from + i]!]),
          ]),
          errors,
          parts: new Map([
            [zero, errors.map(() => 0)],
            ...places.map((p, i): [string, number[]] => [p, parts(i)]),
          ]),
        },
      ]
    } catch (error) {
      if (!(error instanceof StatisticsError)) throw error
      return []
    }
  })
}

export function placeAt(point: Point, channel: string): string | undefined {
  return point.places?.find((p) => p.channel === channel)?.place
}

/** How far a temperature may be from that of the only exchange and still be told by it, K; common practice, no source. */
const NEAR_K = 10

/** An error of an exchange in the difference of two places, mK/mK. */
export interface PartOfDifference extends PlacesError {
  readonly part: number
}

/** Difference of two places at a temperature, and what is uncertain of it. */
export interface PlaceDifference {
  readonly mk: number
  /** Errors of the exchange, common to all points. */
  readonly errors: readonly PartOfDifference[]
  /** What may have become of it between two exchanges, standard uncertainty, mK, and its degrees of freedom. */
  readonly betweenMk: number
  readonly betweenDof: number
}

/** Difference of two places (`of` less `against`), linear between exchanges; null where no exchange tells. */
export function placeDifference(
  exchanges: readonly Exchange[],
  of: string,
  against: string,
  celsius: number,
): PlaceDifference | null {
  const known = exchanges
    .filter((e) => e.offsetMk.has(of) && e.offsetMk.has(against))
    .toSorted((a, b) => a.celsius - b.celsius)
  const first = known[0]
  if (!first) return null
  const last = known.at(-1)!
  const above = known.findIndex((e) => e.celsius >= celsius)
  const [low, high] =
    above < 0 ? [last, last] : above === 0 ? [first, first] : [known[above - 1]!, known[above]!]
  const outside = low === high ? Math.abs(celsius - low.celsius) : 0
  if (outside > NEAR_K) return null
  const f = low === high ? 0 : (celsius - low.celsius) / (high.celsius - low.celsius)
  const at = (e: Exchange) => entryOf(e.offsetMk, of) - entryOf(e.offsetMk, against)
  const errors = (
    [
      [low, 1 - f],
      [high, f],
    ] as const
  ).flatMap(([e, share]) => {
    const [a, b] = [entryOf(e.parts, of), entryOf(e.parts, against)]
    return share === 0 ? [] : e.errors.map((error, k) => ({ ...error, part: share * (a[k]! - b[k]!) }))
  })
  const { mk, dof } = changeOf(low, high)
  return {
    mk: (1 - f) * at(low) + f * at(high),
    errors,
    // A change that is not steady is furthest from the straight line half way.
    betweenMk: 2 * f * (1 - f) * mk,
    betweenDof: dof,
  }
}

interface Change {
  /** Beyond what the uncertainty of both exchanges explains, mK, pooled. */
  readonly mk: number
  readonly dof: number
  /** Of the changes against what the uncertainty leads to expect, and with how many degrees of freedom that is known. */
  readonly chiSquared: number
  readonly expectedDof: number
}

/** Keeps the covariance positive for the place that is the zero, mK squared. */
const OF_ZERO = 1e-6

/**
 * By how much the places changed from one exchange to the other. Whether that is explained is judged with all that hangs
 * together: offsets found along a chain of moves share their errors, and each exchange has a zero of its own.
 *
 *   chi^2 = (c - m)' V^-1 (c - m),  V = V_low + V_high
 *
 * Symbols: c changes of the places, m their weighted mean, V the covariance of offsets by each exchange. Source: as `weightedMean`.
 */
function changeOf(low: Exchange, high: Exchange): Change {
  const both = low.places.filter((p) => high.offsetMk.has(p))
  if (low === high || both.length < 2)
    return { mk: 0, dof: Number.POSITIVE_INFINITY, chiSquared: 0, expectedDof: 1 }
  const changes = both.map((p) => entryOf(high.offsetMk, p) - entryOf(low.offsetMk, p))
  const covariance = both.map((p, i) =>
    both.map((q, j) => shared(low, p, q) + shared(high, p, q) + (i === j ? OF_ZERO : 0)),
  )
  const mean = changes.reduce((sum, c) => sum + c, 0) / both.length
  const dof = both.length - 1
  const found = changes.reduce((sum, c) => sum + (c - mean) ** 2, 0) / dof
  const noise = both.reduce((sum, p) => sum + shared(low, p, p) + shared(high, p, p), 0) / both.length / 2
  return {
    mk: Math.sqrt(Math.max(0, found - noise)),
    dof,
    chiSquared: weightedMean(changes, covariance).chiSquared,
    expectedDof: knownOf([low, high], both),
  }
}

/** Degrees of freedom of the variance that exchanges lead to expect of their offsets; JCGM 100:2008, G.4.1. */
function knownOf(exchanges: readonly Exchange[], places: readonly string[]): number {
  const byChannel = new Map<string, number>()
  let total = 0
  for (const { errors, parts } of exchanges)
    errors.forEach(({ channel, uMk, degreesOfFreedom }, k) => {
      const variance = places.reduce((sum, p) => sum + (entryOf(parts, p)[k]! * uMk) ** 2, 0)
      total += variance
      byChannel.set(channel, (byChannel.get(channel) ?? 0) + variance / Math.sqrt(degreesOfFreedom))
    })
  if (total === 0) return Number.POSITIVE_INFINITY
  return total ** 2 / [...byChannel.values()].reduce((sum, part) => sum + part * part, 0)
}

/** Covariance of the offsets of two places by one exchange, mK squared. */
function shared({ errors, parts }: Exchange, a: string, b: string): number {
  const [first, second] = [entryOf(parts, a), entryOf(parts, b)]
  return errors.reduce((sum, { uMk }, k) => sum + first[k]! * second[k]! * uMk * uMk, 0)
}

/** Standard uncertainty of a difference of places by what was read in the exchange, mK. */
export function exchangeMk({ errors }: PlaceDifference): number {
  return Math.hypot(...errors.map(({ part, uMk }) => part * uMk))
}

/**
 * The largest change of the places between two exchanges that their uncertainty does not explain, mK; null: none. `chance` is that
 * of a night without any such change to be told of one, shared by all pairs of exchanges that are compared (Bonferroni).
 */
export function placesChanged(exchanges: readonly Exchange[], chance: number): number | null {
  const pairs = exchanges.flatMap((a, i) => exchanges.slice(i + 1).map((b) => changeOf(a, b)))
  const beyond = pairs.filter(
    ({ dof, chiSquared, expectedDof }) =>
      Number.isFinite(dof) && chiSquared > dof * fQuantile(1 - chance / pairs.length, dof, expectedDof),
  )
  return beyond.length === 0 ? null : Math.max(...beyond.map(({ mk }) => mk))
}

/** What is stated of a bath: standard uncertainty of the difference of two places, mK, and its degrees of freedom. */
interface StatedUniformity {
  uMk(celsius: number): number
  readonly degreesOfFreedom: number
}

/** A place that stands further from that of the reference than the bath's stated uniformity explains. */
export interface WidePlace {
  readonly place: string
  readonly against: string
  readonly celsius: number
  readonly offsetMk: number
  /** Standard uncertainty of the difference of two places as stated, mK, and that of the exchange, mK. */
  readonly statedMk: number
  readonly uMk: number
}

/**
 * The place that an exchange found furthest beyond what is stated of the bath; null where all agree with it.
 *
 *   |o| > t_p(nu) sqrt(U^2 + u^2(o)),  1 - p = chance / m
 *
 * Symbols: o offset of a place against the reference's own, U stated standard uncertainty of the difference of two places with nu
 * degrees of freedom (Infinity where it was typed), u(o) that of the exchange, m the offsets that are looked at. Nothing is supposed
 * of how the offsets hang together (Bonferroni). Source: JCGM 100:2008, G.3, for the quantile; the check: common practice, no source.
 */
export function placesWide(
  exchanges: readonly Exchange[],
  { uMk, degreesOfFreedom }: StatedUniformity,
  chance: number,
): WidePlace | null {
  // What is stated is how far the place of a thermometer may be from that of the reference.
  const home = exchanges[0]?.places[0]
  const looks = exchanges.flatMap((e): WidePlace[] => {
    const statedMk = uMk(e.celsius)
    const against = home !== undefined && e.offsetMk.has(home) ? home : e.places[0]
    // A bench that states nothing is told of by a remark of its own.
    if (statedMk === 0 || against === undefined) return []
    return e.places
      .filter((place) => place !== against)
      .map((place) => ({
        place,
        against,
        celsius: e.celsius,
        offsetMk: entryOf(e.offsetMk, place) - entryOf(e.offsetMk, against),
        statedMk,
        uMk: Math.sqrt(shared(e, place, place) - 2 * shared(e, place, against) + shared(e, against, against)),
      }))
  })
  if (looks.length === 0) return null
  const limit = coverageFactor(1 - chance / looks.length, degreesOfFreedom)
  const beyond = (l: WidePlace) => Math.abs(l.offsetMk) / Math.hypot(l.statedMk, l.uMk)
  const worst = looks.toSorted((a, b) => beyond(b) - beyond(a))[0]!
  return beyond(worst) > limit ? worst : null
}
