import { weightedMean } from '../statistics/weighted-mean.ts'
import type { PairFacts, PairPoint, ReferencePoint, UniformityFacts } from './pair-facts.ts'
import { exchangeMk } from './places.ts'
import type { ReferenceSide } from './reference-side.ts'
import { errorSources, pointEffectsMk } from './uncertainty-sources.ts'
import type { BudgetTemplate, TemplateComponent } from './uncertainty-template.ts'

/** Whether several references agree at a point. */
export interface Agreement {
  readonly consistent: boolean
  readonly chiSquared: number
  readonly limit: number
  readonly references: readonly {
    readonly channel: string
    readonly name: string
    readonly celsius: number
    /** Standard uncertainty by its own records and its place, mK. */
    readonly uMk: number
    readonly weight: number
  }[]
}

interface OneReference {
  readonly side: ReferenceSide
  readonly celsius: number
  readonly at: ReferencePoint
  /** Its place among the references of the session. */
  readonly place: number
}

interface ReferenceMean {
  readonly celsius: number
  /** By place. */
  readonly weights: ReadonlyMap<number, number>
  readonly disagreementMk: number
  readonly agreement: Agreement | null
}

/** Components of a budget that are of a reference alone. */
const OF_REFERENCE: readonly TemplateComponent['origin'][] = [
  'noise-reference',
  'reference-calibration',
  'reference-wtp',
  'reference-drift',
  'self-heating-reference',
  'bridge-linearity',
  'bridge-resolution',
  'resistor-calibration',
  'resistor-drift',
  'resistor-temperature',
]

/**
 * The temperature by several references: their weighted mean, each by its calibration, drift, bridge, resistor and place, with
 * what they share; and whether they agree. Where they do not, the mean stands until a person decides, and the largest
 * distance from it goes into the budget.
 */
export function referenceMean(
  seen: readonly OneReference[],
  { template, uniformity }: { readonly template: BudgetTemplate; readonly uniformity: UniformityFacts },
): ReferenceMean {
  const only = seen[0]!
  if (seen.length === 1) {
    return {
      celsius: only.celsius,
      weights: new Map([[only.place, 1]]),
      disagreementMk: 0,
      agreement: null,
    }
  }
  const effects = effectsOf(seen, template)
  // Half of the square of the stated difference of two places is of each place; where an exchange tells, its own.
  const places = (at: ReferencePoint) =>
    at.places
      ? Math.hypot(exchangeMk(at.places), at.places.betweenMk) ** 2
      : uniformity.uMk(only.celsius) ** 2 / 2
  const covariance = seen.map((_, k) =>
    seen.map(
      (_other, l) =>
        effects.reduce((sum, e) => sum + e[k]! * e[l]!, 0) + (k === l ? places(seen[k]!.at) + TINY : 0),
    ),
  )
  const inMk = seen.map(({ celsius }) => (celsius - only.celsius) * 1e3)
  const found = weightedMean(inMk, covariance)
  const apart = Math.max(...inMk.map((mk) => Math.abs(mk - found.mean)))
  return {
    celsius: only.celsius + found.mean * 1e-3,
    weights: new Map(seen.map(({ place }, k) => [place, found.weights[k]!])),
    disagreementMk: found.consistent ? 0 : apart,
    agreement: {
      consistent: found.consistent,
      chiSquared: found.chiSquared,
      limit: found.limit,
      references: seen.map(({ side, celsius }, k) => ({
        channel: side.record.channel.id,
        name: side.record.thermometer.name,
        celsius,
        uMk: Math.sqrt(covariance[k]![k]!),
        weight: found.weights[k]!,
      })),
    },
  }
}

/** Keeps a covariance positive where the records state nothing at all, mK squared. */
const TINY = 1e-8

/** What one standard uncertainty of each error does to each reference alone, mK: first by error, then by reference. */
function effectsOf(seen: readonly OneReference[], template: BudgetTemplate): number[][] {
  const own: BudgetTemplate = {
    ...template,
    components: template.components.filter((c) => OF_REFERENCE.includes(c.origin)),
  }
  const facts: PairFacts = {
    references: seen.map(({ side }) => side.facts),
    bridge: null,
    resistor: null,
    uniformity: { uMk: () => 0, degreesOfFreedom: Number.POSITIVE_INFINITY, source: '' },
    bathStabilityMk: 0,
    underTestJunctionMk: null,
    hysteresis: null,
    lift: null,
    insulationOhm: null,
    meter: null,
    spanK: 0,
    excess: null,
  }
  const points = seen.map(
    ({ celsius }, k): PairPoint => ({
      point: '',
      cell: false,
      referenceC: celsius,
      references: seen.map(({ at }, l) => ({ ...at, weight: l === k ? 1 : 0 })),
      underTestMkPerRelative: 0,
      underTestRatio: null,
      underTestNoiseMk: 0,
      underTestNoiseDof: Number.POSITIVE_INFINITY,
      underTestSelfHeatingMk: 0,
      underTestSelfHeatingDof: Number.POSITIVE_INFINITY,
      junctionPart: 0,
      underTestSignal: 0,
      underTestOhm: null,
      unbracketedMk: 0,
      disagreementMk: 0,
    }),
  )
  return errorSources(own, points, facts).map((source) => pointEffectsMk(source, points))
}
