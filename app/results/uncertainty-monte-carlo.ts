import { exactCoverage } from '../statistics/coverage.ts'
import { draw } from '../statistics/distributions.ts'
import { numericalTolerance } from '../statistics/monte-carlo.ts'
import { type Random, seededRandom } from '../statistics/random.ts'
import { selectInPlace } from '../statistics/selection.ts'
import type { Prepared } from '../thermometry/convert.ts'
import { actsOnCurve, type PairFit } from './analysis-fit.ts'
import { fixedMk } from './uncertainty-acts.ts'
import {
  addScaled,
  type ErrorColumns,
  type ErrorDraws,
  errorDraws,
  standardised,
} from './uncertainty-draws.ts'
import { type ErrorSource, pointEffectsMk } from './uncertainty-sources.ts'
import type { BudgetTemplate } from './uncertainty-template.ts'

/** Trials drawn between two looks at whether the result has settled; JCGM 101:2008, 7.9.4. */
const BLOCK = 10_000
/** Fewer blocks than these tell too little of how far their mean may still move. */
const LEAST_BLOCKS = 8
/** Significant digits of u that the comparison of the two methods is to hold to. */
const DIGITS = 2
/** A source below this part of u at every point adds less than a millionth to the variance and is not drawn. */
const NEGLIGIBLE = 1e-3

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

/** Errors of every point in a block of trials, mK: drawn at their sources, followed through both conversions. */
function pointErrors(
  fit: PairFit,
  reference: Prepared,
  draws: ErrorDraws,
  random: Random,
  columns: ErrorColumns,
): readonly Float64Array[] {
  for (const column of [...columns.reference, ...columns.underTest, ...columns.temperature]) column.fill(0)
  draws(random, columns)
  fit.pairs.forEach((pair, i) => {
    const errors = columns.temperature[i]!
    follow(errors, columns.underTest[i]!, fit.prepared, pair.underTest.signal, -1e3)
    if (pair.reference) follow(errors, columns.reference[i]!, reference, pair.reference.signal, 1e3)
  })
  return columns.temperature
}

/** Sources that are drawn: those that matter anywhere. */
function drawnSources({ sources, pairs }: PairFit): ErrorSource[] {
  const effects = sources.map((source) => pointEffectsMk(source, pairs))
  const totals = pairs.map((_, i) => Math.hypot(...effects.map((e) => e[i]!)))
  return sources.filter((_, q) => effects[q]!.some((effect, i) => Math.abs(effect) > NEGLIGIBLE * totals[i]!))
}

/** A parabola stands in for a conversion where it is nearer to it than this, mK: a hundredth of the last digit of any u. */
const AS_GOOD_MK = 1e-5

/** Adds what relative errors of a signal do to the temperature found from it. */
function follow(
  errors: Float64Array,
  relative: Float64Array,
  prepared: Prepared,
  signal: number,
  factor: number,
): void {
  // Past the ends of a range by a millikelvin: the relation itself is followed, without the words of a mark.
  const { sensor, ohmPerRatio = 1 } = prepared
  const temperature = sensor.junction
    ? (x: number) => prepared.toTemperature(x).value
    : (x: number) => sensor.temperature(x / ohmPerRatio)
  const base = temperature(signal)
  let most = 0
  for (let k = 0; k < relative.length; k++) most = Math.max(most, Math.abs(relative[k]!))
  if (most === 0) return
  // Within the errors of a block a conversion is a parabola, unless it is looked at and is not.
  const at = (r: number) => temperature(signal * (1 + r)) - base
  const [up, down] = [at(most), at(-most)]
  const slope = (up - down) / (2 * most)
  const bend = (up + down) / (2 * most ** 2)
  const parabola = (r: number) => r * (slope + bend * r)
  const isAsGood = [0.5, -0.5, 0.25, -0.25].every(
    (part) => Math.abs(at(part * most) - parabola(part * most)) * 1e3 < AS_GOOD_MK,
  )
  for (let k = 0; k < errors.length; k++) {
    const r = relative[k]!
    if (r !== 0) errors[k] = errors[k]! + factor * (isAsGood ? parabola(r) : at(r))
  }
}

function blockOf(
  fit: PairFit,
  errors: readonly Float64Array[],
  template: BudgetTemplate,
  weights: ReadonlyMap<number, readonly number[]>,
  random: Random,
  outputs: readonly Float64Array[],
  from: number,
): void {
  const column = new Float64Array(BLOCK)
  const curve = template.components.filter((c) => actsOnCurve(c, fit.fit.degreesOfFreedom))
  inBathOf(fit).forEach((i, at) => {
    const t = fit.pairs[i]!.referenceC
    const point = outputs[2 * at]!.subarray(from, from + BLOCK)
    const along = outputs[2 * at + 1]!.subarray(from, from + BLOCK)
    addScaled(point, errors[i]!, 1)
    weights.get(i)!.forEach((weight, j) => {
      addScaled(along, errors[j]!, weight)
    })
    for (const component of curve) {
      draw(
        standardised(component.distribution, component.degreesOfFreedom ?? Number.POSITIVE_INFINITY),
        0,
        random,
        column,
        BLOCK,
      )
      addScaled(along, column, fixedMk(component, t))
    }
  })
}

const inBathOf = (fit: PairFit): number[] => fit.pairs.flatMap((p, i) => (p.cell ? [] : [i]))

function summary(values: Float64Array, coverage: number): { u: number; low: number; high: number } {
  const own = values.slice()
  const n = own.length
  let mean = 0
  for (let k = 0; k < n; k++) mean += own[k]! / n
  let squares = 0
  for (let k = 0; k < n; k++) squares += (own[k]! - mean) ** 2
  const tail = (1 - exactCoverage(coverage)) / 2
  const place = (p: number) => Math.min(n - 1, Math.max(0, Math.round(p * n) - 1))
  // Selecting the low end first leaves everything above it to the right, where the high end is looked for.
  const from = place(tail)
  const low = selectInPlace(own, from)
  const high = selectInPlace(own, place(1 - tail), from)
  return { u: Math.sqrt(squares / (n - 1)), low, high }
}

type Summary = ReturnType<typeof summary>

/** Twice the standard deviation of the mean over the blocks: how far a figure may still move. JCGM 101:2008, 7.9.4, i) to k). */
function numericalSpread(blocks: readonly Summary[][], k: number, what: keyof Summary): number {
  const list = blocks.map((b) => b[k]![what])
  const h = list.length
  const mean = list.reduce((sum, v) => sum + v, 0) / h
  return 2 * Math.sqrt(list.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (h * (h - 1)))
}

/**
 * Propagates distributions through the conversions of both thermometers and the fit's response, in blocks until the comparison
 * with the law of propagation is decided everywhere or the cap on trials is reached.
 *
 * The conversions are followed as they are (by a parabola where that is the same to a hundredth of the last digit of any u); the fit enters by its derivatives, since an error of a point is thousands
 * of times smaller than the span over which the fit bends.
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
  const outputs = inBath.flatMap(() => [new Float64Array(most), new Float64Array(most)])
  const gum = inBath.flatMap((i) => [fit.atPoint(i), fit.atTemperature(fit.pairs[i]!.referenceC)])
  const draws = errorDraws(
    drawnSources(fit),
    fit.pairs.map((p) => p.referenceC),
  )
  const weights = new Map(inBath.map((i) => [i, fit.sensitivities(fit.pairs[i]!.referenceC)]))
  const column = () => fit.pairs.map(() => new Float64Array(BLOCK))
  const columns: ErrorColumns = { reference: column(), underTest: column(), temperature: column() }
  const blocks: Summary[][] = []
  const rowOf = (k: number, low: number, high: number, u: number): MethodComparison => {
    const { u: uLaw, expanded } = gum[k]!
    const { referenceC, point } = fit.pairs[inBath[Math.floor(k / 2)]!]!
    const tolerance = numericalTolerance(uLaw, DIGITS)
    const lowDifference = Math.abs(-expanded - low)
    const highDifference = Math.abs(expanded - high)
    const numerical = Math.max(numericalSpread(blocks, k, 'low'), numericalSpread(blocks, k, 'high'))
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
  // The mean over the blocks stands in for all trials together until the last of them.
  const soFar = (k: number): MethodComparison => {
    const mean = (what: keyof Summary) => blocks.reduce((sum, b) => sum + b[k]![what], 0) / blocks.length
    return rowOf(k, mean('low'), mean('high'), mean('u'))
  }
  let filled = 0
  let settled = false
  while (filled + BLOCK <= most && !settled) {
    const errors = pointErrors(fit, reference, draws, random, columns)
    blockOf(fit, errors, template, weights, random, outputs, filled)
    blocks.push(outputs.map((v) => summary(v.subarray(filled, filled + BLOCK), coverage)))
    filled += BLOCK
    settled = blocks.length >= LEAST_BLOCKS && gum.every((_, k) => soFar(k).verdict !== 'open')
  }
  const rows = gum.map((_, k): MethodComparison => {
    const found = summary(outputs[k]!.subarray(0, filled), coverage)
    return rowOf(k, found.low, found.high, found.u)
  })
  return { trials: filled, digits: DIGITS, seed, settled, rows }
}
