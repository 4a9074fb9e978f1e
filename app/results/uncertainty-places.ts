import { welchSatterthwaite } from '../statistics/budget.ts'
import type { Acts } from './acts.ts'
import type { PairFacts, PairPoint } from './pair-facts.ts'
import { HALF_WIDTH_DIVISOR } from './uncertainty-template.ts'

/**
 * What exchanges of places bring to the points, with every error of a reading where it stands: the difference of the places is
 * found from the same readings that are then corrected by it, so that an error e of a reading at a point of an exchange acts
 *
 *   c_i = e (d_i + L_i)
 *
 * Symbols: d_i what it does at point i itself (1 for a reference by its weight, -1 for the thermometer under test; 0 at other
 * points), L_i what it does there through the offsets. Source: JCGM 100:2008, 5.2.2 and F.1.2.3: inputs that have an error in
 * common are written as functions of that error.
 */
interface Carried {
  readonly point: string
  readonly of: 'under-test' | 'another' | number
  readonly uMk: number
  /** By point: L, mK/mK. */
  readonly through: readonly number[]
}

function carriedBy(points: readonly PairPoint[]): Carried[] {
  const found = new Map<string, { point: string; of: Carried['of']; uMk: number; through: number[] }>()
  points.forEach((p, i) => {
    for (const { weight, places } of p.references) {
      if (weight === 0 || !places) continue
      for (const { point, channel, of, uMk, part } of places.errors) {
        const key = `${point} ${channel}`
        const one = found.get(key) ?? { point, of, uMk, through: points.map(() => 0) }
        one.through[i] = one.through[i]! + weight * part
        found.set(key, one)
      }
    }
  })
  return [...found.values()]
}

/** An error that every point has of its own: its size there, and what it does to (reference less thermometer under test). */
interface Own {
  readonly of: 'under-test' | number
  readonly uMk: (p: PairPoint) => number
  readonly direct: (p: PairPoint) => number
}

const byReference = (k: number) => (p: PairPoint) => p.references[k]?.weight ?? 0

/** One source for the points that no exchange hangs on, and one for each error that an exchange carries to others. */
function withExchanges(points: readonly PairPoint[], { of, uMk, direct }: Own): Acts[] {
  const carried = carriedBy(points).filter((c) => c.of === of)
  const hung = new Set(carried.map((c) => c.point))
  const likely = points.find((p) => !p.cell && uMk(p) > 0)
  return [
    { temperatureMk: points.map((p) => (hung.has(p.point) ? 0 : uMk(p) * direct(p))) },
    ...carried.map(({ point, through }): Acts => {
      // An item need not have all points of an exchange itself.
      const at = points.find((p) => p.point === point) ?? likely
      const size = at ? uMk(at) : 0
      return {
        temperatureMk: points.map((p, i) => size * (through[i]! + (p.point === point ? direct(p) : 0))),
        correlation: { kind: 'common' },
      }
    }),
  ]
}

/** Standard uncertainty of a point's mean at one place with its degrees of freedom. */
export interface AtPlace {
  readonly uMk: number
  readonly degreesOfFreedom: number
}

/** Of a thermometer under test: its repeatability and what is stated of its place. */
export function underTestAtPlace(
  { underTestNoiseMk, underTestNoiseDof }: PairPoint,
  bathStabilityMk: number,
): AtPlace {
  const half = { u: bathStabilityMk * Math.SQRT1_2, degreesOfFreedom: Number.POSITIVE_INFINITY }
  const uMk = Math.hypot(underTestNoiseMk, half.u)
  const parts = [{ u: underTestNoiseMk, degreesOfFreedom: underTestNoiseDof }, half]
  return { uMk, degreesOfFreedom: welchSatterthwaite(uMk, parts) }
}

/** Of the references: the larger of the two. */
export function referenceAtPlace({ references }: PairPoint, bathStabilityMk: number): AtPlace {
  const noiseMk = Math.hypot(...references.map((at) => at.weight * at.noiseMk))
  const half = bathStabilityMk * Math.SQRT1_2
  const byScatter = noiseMk >= half
  const dof = references.find(({ weight }) => weight !== 0)?.noiseDof ?? Number.POSITIVE_INFINITY
  return {
    uMk: Math.max(noiseMk, half),
    degreesOfFreedom: byScatter ? dof : Number.POSITIVE_INFINITY,
  }
}

/** Repeatability of one reference. */
export function referenceNoiseActs(points: readonly PairPoint[], k: number): Acts[] {
  const dof = points.map((p) => p.references[k]?.noiseDof ?? Number.POSITIVE_INFINITY)
  return withExchanges(points, {
    of: k,
    uMk: (p) => p.references[k]?.noiseMk ?? 0,
    direct: byReference(k),
  }).map((act) => ({ ...act, degreesOfFreedom: dof, estimate: `reference ${k + 1}` }))
}

/** Repeatability of the thermometer under test. */
export function underTestNoiseActs(points: readonly PairPoint[]): Acts[] {
  const dof = points.map((p) => p.underTestNoiseDof)
  return withExchanges(points, { of: 'under-test', uMk: (p) => p.underTestNoiseMk, direct: () => -1 }).map(
    (act) => ({ ...act, degreesOfFreedom: dof, estimate: 'thermometer under test' }),
  )
}

/**
 * What the bath moves between two places while a point is taken: half of the square at each of the two. What a bath does as a whole
 * scatters the readings of both thermometers alike and goes out of their difference; it stands in the repeatability of the one under
 * test. Of a reference the larger counts of its scatter and of what is stated of its place, so that nothing stands there twice. That
 * place's is one error for all thermometers under test; so is what the bath did while no reference was looked at.
 * Common practice, no source.
 */
export function stabilityActs(
  points: readonly PairPoint[],
  { bathStabilityMk, references }: PairFacts,
): Acts[] {
  const unseen = (noiseMk: number) => Math.sqrt(Math.max(0, bathStabilityMk ** 2 / 2 - noiseMk ** 2))
  const ofReferences = references.flatMap((_, k) =>
    withExchanges(points, {
      of: k,
      uMk: (p) => unseen(p.references[k]?.noiseMk ?? 0),
      direct: byReference(k),
    }),
  )
  const unbracketed = points.map((p) => (p.cell ? 0 : p.unbracketedMk / HALF_WIDTH_DIVISOR.rectangular))
  return [
    ...[...ofReferences, { temperatureMk: unbracketed }].map((act) => ({ ...act, shared: true })),
    ...withExchanges(points, {
      of: 'under-test',
      uMk: (p) => (p.cell ? 0 : bathStabilityMk * Math.SQRT1_2),
      direct: () => -1,
    }),
  ].filter(({ temperatureMk }) => temperatureMk!.some((mk) => mk !== 0))
}

/** Why the budget of several references has less than what is stated: see `placesOf`. */
const SEVERAL = '; half of its square is of the places of the references, of which the mean is less'

/**
 * Difference of the places. Where an exchange tells it, it is taken off: what the readings of other thermometers leave open of it
 * acts through all points at once, with the sign of each arrangement; what may have become of it between two exchanges stands
 * beside. Elsewhere the survey or the stated figure holds.
 */
export function placeActs(points: readonly PairPoint[], facts: PairFacts): Acts[] {
  const known = (p: PairPoint) => p.references.filter((at) => at.weight !== 0 && at.places)
  const isKnown = (p: PairPoint) => known(p).length > 0
  const unknown: Acts = {
    temperatureMk: points.map((p) =>
      p.cell || isKnown(p) ? 0 : facts.uniformity.uMk(p.referenceC) * placesOf(p),
    ),
    degreesOfFreedom: points.map(() => facts.uniformity.degreesOfFreedom),
    source: `${facts.uniformity.source}${points.some((p) => p.references.filter((at) => at.weight !== 0).length > 1) ? SEVERAL : ''}`,
  }
  if (!points.some(isKnown)) return [unknown]
  const source = 'exchange of places in this session'
  return [
    unknown,
    ...carriedBy(points)
      .filter(({ of }) => of === 'another')
      .map(
        ({ uMk, through }): Acts => ({
          temperatureMk: through.map((part) => uMk * part),
          correlation: { kind: 'common' },
          source,
        }),
      ),
    {
      temperatureMk: points.map((p) =>
        known(p).reduce((total, at) => total + at.weight * at.places!.betweenMk, 0),
      ),
      degreesOfFreedom: points.map((p) => known(p)[0]?.places?.betweenDof ?? Number.POSITIVE_INFINITY),
      source,
    },
  ]
}

/**
 * The stated uniformity is that of the difference of two places. With several references at places of their own the mean of
 * them differs less: half of the square is the thermometer's place, half is shared by the references by their weights.
 */
function placesOf({ references }: Pick<PairPoint, 'references'>): number {
  const squares = references.reduce((total, { weight }) => total + weight * weight, 0)
  return Math.sqrt((1 + squares) / 2)
}
