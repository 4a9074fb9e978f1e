import { draw } from '../statistics/distributions.ts'
import { numericalTolerance } from '../statistics/monte-carlo.ts'
import { type Random, seededRandom } from '../statistics/random.ts'
import type { Prepared } from '../thermometry/convert.ts'
import { actsOnCurve, type PairFit } from './analysis-fit.ts'
import { fixedMk } from './uncertainty-acts.ts'
import { addScaled, standardised } from './uncertainty-draws.ts'
import { NormalPartEnds, sortedEnds } from './uncertainty-ends.ts'
import { pointErrors } from './uncertainty-followed.ts'
import { type Response, responseOf } from './uncertainty-response.ts'
import { type ErrorSource, pointEffectsMk } from './uncertainty-sources.ts'
import type { BudgetTemplate } from './uncertainty-template.ts'
import { BlockMeans, type Summary } from './uncertainty-trials.ts'

/** Trials drawn between two looks at whether the result has settled; JCGM 101:2008, 7.9.4. */
const BLOCK = 10_000
/** Fewer blocks than these tell too little of how far their mean may still move. */
const LEAST_BLOCKS = 8
/** Significant digits of u that the comparison of the two methods is to hold to. */
const DIGITS = 2
/** A source below this part of u at every point adds less than a millionth to the variance and is not drawn. */
const NEGLIGIBLE = 1e-3
/**
 * A bounded source below this part of u at every point is drawn as normal, together with all that are: its fourth cumulant, at most
 * 1.5 in size, is then 1e-5 of that of u, which moves the ends of the interval by less than a hundred-thousandth of u (Cornish and
 * Fisher's series, from memory).
 */
const SMALL = 0.05

/**
 * The normal sources are left out of the draws, and their sum is taken as what it is, where it is at least this part of the variance of
 * every result: a part much smaller would give each trial a peak so narrow that nothing is gained.
 */
const NORMAL_PART = 0.1

/** A result by propagation of distributions beside the same by the law of propagation, all mK. */
export interface MethodComparison {
  readonly celsius: number
  readonly what: 'point' | 'curve'
  readonly point: string
  /** JCGM 100. */
  readonly u: number
  readonly expanded: number
  /** JCGM 101: standard deviation, and the ends of the probabilistically symmetric interval about the estimate. */
  readonly uMonteCarlo: number
  readonly low: number
  readonly high: number
  /** Numerical tolerance of u, JCGM 101:2008, 7.9.2, and the differences of the ends, 8.1. */
  readonly tolerance: number
  readonly lowDifference: number
  readonly highDifference: number
  /** How far the trials drawn leave the ends open: twice the standard deviation of the mean over the blocks. */
  readonly numerical: number
  readonly verdict: MethodVerdict
}

/**
 * Whether the interval of JCGM 100 may stand in for that of JCGM 101: both differences within the tolerance (`agree`), one of them
 * beyond it (`differ`), or nearer to it than the trials drawn can tell (`open`).
 */
export type MethodVerdict = 'agree' | 'differ' | 'open'

function verdictOf(difference: number, numerical: number, tolerance: number): MethodVerdict {
  if (difference + numerical <= tolerance) return 'agree'
  return difference - numerical > tolerance ? 'differ' : 'open'
}

export interface MonteCarlo {
  readonly trials: number
  /** Significant digits of u to which the two methods are compared. */
  readonly digits: number
  readonly seed: number
  /** Whether every comparison was decided before the cap on trials. */
  readonly settled: boolean
  readonly rows: readonly MethodComparison[]
}

/** Seed from a text, FNV-1a over its UTF-16 units: the same session gives the same report, digit by digit. */
export function seedOf(text: string): number {
  let hash = 0x811c9dc5
  for (let i = 0; i < text.length; i++) {
    hash ^= text.charCodeAt(i)
    hash = Math.imul(hash, 0x01000193)
  }
  return hash >>> 0
}

/** Sources that are drawn: those that matter anywhere; and what all of them do to each point, mK. */
function drawnSources({ sources, pairs }: PairFit): { drawn: ErrorSource[]; totals: number[] } {
  const effects = sources.map((source) => pointEffectsMk(source, pairs))
  const totals = pairs.map((_, i) => Math.hypot(...effects.map((e) => e[i]!)))
  const isAbove = (part: number, q: number) =>
    effects[q]!.some((effect, i) => Math.abs(effect) > part * totals[i]!)
  const drawn = sources.flatMap((source, q): ErrorSource[] => {
    if (!isAbove(NEGLIGIBLE, q)) return []
    return source.distribution === 't' || isAbove(SMALL, q)
      ? [source]
      : [{ ...source, distribution: 'normal' }]
  })
  return { drawn, totals }
}

/** What acts on the curve alone: its distribution, and whether it is normal. */
function curveComponents(fit: PairFit, template: BudgetTemplate) {
  return template.components
    .filter((c) => actsOnCurve(c, fit.fit.degreesOfFreedom))
    .map((component) => {
      const own = standardised(component.distribution, component.degreesOfFreedom ?? Number.POSITIVE_INFINITY)
      return { component, own, isNormal: own.kind === 'normal' }
    })
}

/** A block of every result, from the errors of the points: that of the point, and that of the curve there. */
function blockOf(
  fit: PairFit,
  errors: readonly Float64Array[],
  components: ReturnType<typeof curveComponents>,
  response: Response,
  random: Random,
  outputs: readonly Float64Array[],
): void {
  const inBath = inBathOf(fit)
  const curve = outputs.filter((_, k) => k % 2 === 1)
  inBath.forEach((i, at) => {
    addScaled(outputs[2 * at]!, errors[i]!, 1)
  })
  response(errors, curve)
  // Each result is judged by itself, so one draw of what acts on the curve serves every place of it.
  const column = new Float64Array(BLOCK)
  for (const { component, own } of components) {
    draw(own, 0, random, column, BLOCK)
    inBath.forEach((i, at) => {
      addScaled(curve[at]!, column, fixedMk(component, fit.pairs[i]!.referenceC))
    })
  }
}

/** Variance that normal sources bring to every result, mK squared, in the order of the results, by their covariance over the points. */
function normalParts(
  fit: PairFit,
  components: ReturnType<typeof curveComponents>,
  sensitivities: readonly (readonly number[])[],
) {
  return (covariance: (i: number, j: number) => number): number[] => {
    const all = fit.pairs.map((_, i) => fit.pairs.map((_p, j) => covariance(i, j)))
    return inBathOf(fit).flatMap((i, at) => {
      const weights = sensitivities[at]!
      const throughFit = weights.reduce(
        (sum, a, k) => sum + weights.reduce((part, b, l) => part + a * b * all[k]![l]!, 0),
        0,
      )
      const alone = components
        .filter((c) => c.isNormal)
        .reduce((sum, { component }) => sum + fixedMk(component, fit.pairs[i]!.referenceC) ** 2, 0)
      return [all[i]![i]!, Math.max(0, throughFit) + alone]
    })
  }
}

const inBathOf = (fit: PairFit): number[] => fit.pairs.flatMap((p, i) => (p.cell ? [] : [i]))

/**
 * Propagates distributions through the conversions of both thermometers and the fit's response, in blocks until the comparison
 * with the law of propagation is decided everywhere or the cap on trials is reached. Of the blocks only their estimates are kept:
 * however many trials it takes, the memory of one block is enough.
 *
 * What is normal is not drawn where it need not be (`NormalPartEnds`): a tenth of the trials then decides as much.
 *
 * The conversions are followed as they are (by a line or a parabola where a look shows that this is the same); the fit enters by its
 * derivatives, since an error of a point is thousands of times smaller than the span over which the fit bends.
 *
 * Source: JCGM 101:2008, 7.9 (adaptive procedure) and 8.1 (comparison).
 */
export function propagateDistributions(
  fit: PairFit,
  reference: Prepared,
  template: BudgetTemplate,
  coverage: number,
  seed: number,
  most: number,
): MonteCarlo | null {
  if (most < 2 * BLOCK) return null
  const random = seededRandom(seed)
  const inBath = inBathOf(fit)
  const block = inBath.flatMap(() => [new Float64Array(BLOCK), new Float64Array(BLOCK)])
  const gum = inBath.flatMap((i) => [fit.atPoint(i), fit.atTemperature(fit.pairs[i]!.referenceC)])
  const { drawn, totals } = drawnSources(fit)
  const components = curveComponents(fit, template)
  const sensitivities = inBath.map((i) => fit.sensitivities(fit.pairs[i]!.referenceC))
  const normalOf = normalParts(fit, components, sensitivities)
  const errors = pointErrors(fit, reference, drawn, totals, DIGITS, BLOCK, (covariance) =>
    normalOf(covariance).every((variance, k) => variance >= NORMAL_PART * gum[k]!.u ** 2),
  )
  const ends = errors.normal
    ? normalOf(errors.normal).map(
        (variance, k) => new NormalPartEnds(Math.sqrt(variance), gum[k]!.expanded, coverage),
      )
    : gum.map(() => sortedEnds(coverage))
  const inBlocks = errors.normal ? components.filter((c) => !c.isNormal) : components
  const response = responseOf(sensitivities)
  const means = gum.map(() => new BlockMeans())
  const rowOf = (k: number): MethodComparison => {
    const { u, low, high, numerical }: Summary & { numerical: number } = means[k]!.found()
    const { u: uLaw, expanded } = gum[k]!
    const { referenceC, point } = fit.pairs[inBath[Math.floor(k / 2)]!]!
    const tolerance = numericalTolerance(uLaw, DIGITS)
    const lowDifference = Math.abs(-expanded - low)
    const highDifference = Math.abs(expanded - high)
    return {
      celsius: referenceC,
      what: k % 2 === 0 ? 'point' : 'curve',
      point,
      u: uLaw,
      expanded,
      uMonteCarlo: u,
      low,
      high,
      tolerance,
      lowDifference,
      highDifference,
      numerical,
      verdict: verdictOf(Math.max(lowDifference, highDifference), numerical, tolerance),
    }
  }
  let trials = 0
  let settled = false
  while (trials + BLOCK <= most && !settled) {
    for (const column of block) column.fill(0)
    blockOf(fit, errors.draw(random), inBlocks, response, random, block)
    for (const [k, column] of block.entries()) means[k]!.take(ends[k]!.of(column))
    trials += BLOCK
    settled = trials >= LEAST_BLOCKS * BLOCK && gum.every((_, k) => rowOf(k).verdict !== 'open')
  }
  return { trials, digits: DIGITS, seed, settled, rows: gum.map((_, k) => rowOf(k)) }
}
