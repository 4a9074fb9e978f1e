import { exactCoverage } from '../statistics/coverage.ts'
import { type Distribution, draw } from '../statistics/distributions.ts'
import { numericalTolerance } from '../statistics/monte-carlo.ts'
import { normalCdf } from '../statistics/normal.ts'
import { type Random, seededRandom } from '../statistics/random.ts'
import { selectInPlace } from '../statistics/selection.ts'
import type { Prepared } from '../thermometry/convert.ts'
import type { PairFit } from './analysis-fit.ts'
import { correlationBetween, type ErrorSource, fixedMk, pointEffectsMk } from './uncertainty-sources.ts'
import { type BudgetTemplate, HALF_WIDTH_DIVISOR } from './uncertainty-template.ts'

/** Trials drawn between two looks at whether the result has settled; JCGM 101:2008, 7.9.4. */
const BLOCK = 10_000
/** Significant digits of u that the comparison of the two methods is to hold to. */
const DIGITS = 2
/** A source below this part of u at every point adds less than a millionth to the variance and is not drawn. */
const NEGLIGIBLE = 1e-3

/** A result by propagation of distributions beside the same by the law of propagation, all mK. */
export interface MethodComparison {
  readonly celsius: number
  readonly what: 'point' | 'curve'
  readonly point: string | null
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
  /** Both differences within the tolerance, as far as the trials drawn can tell. */
  readonly agrees: boolean
}

export interface MonteCarlo {
  readonly trials: number
  /** Significant digits of u to which the two methods are compared. */
  readonly digits: number
  readonly seed: number
  /** Whether the blocks of trials had settled to a fifth of the tolerance everywhere before the cap on trials. */
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

/** The distribution of standard deviation 1 (of scale 1 for a t) that a component draws from. */
function standardised(distribution: ErrorSource['distribution'], degreesOfFreedom: number): Distribution {
  switch (distribution) {
    case 'normal':
      return { kind: 'normal', sd: 1 }
    case 't':
      return Number.isFinite(degreesOfFreedom)
        ? { kind: 't', scale: 1, degreesOfFreedom }
        : { kind: 'normal', sd: 1 }
    default:
      return { kind: distribution, halfWidth: HALF_WIDTH_DIVISOR[distribution] }
  }
}

/** Standard normal values to values of a distribution, so that correlated errors keep their distribution. */
function reshape(distribution: ErrorSource['distribution'], column: Float64Array): void {
  if (distribution === 'normal' || distribution === 't') return
  for (let k = 0; k < column.length; k++) {
    const p = normalCdfFast(column[k]!)
    if (distribution === 'rectangular') column[k] = Math.sqrt(3) * (2 * p - 1)
    else if (distribution === 'arcsine') column[k] = Math.SQRT2 * Math.sin(Math.PI * (p - 0.5))
    else column[k] = Math.sqrt(6) * (p < 0.5 ? Math.sqrt(2 * p) - 1 : 1 - Math.sqrt(2 * (1 - p)))
  }
}

const TABLE_STEP = 1 / 256
const TABLE_END = 8
const CDF_TABLE = Float64Array.from({ length: (2 * TABLE_END) / TABLE_STEP + 2 }, (_, i) =>
  normalCdf(-TABLE_END + i * TABLE_STEP),
)

/** Normal distribution function from a table, to 1e-6: draws need no more, and a report draws millions. */
function normalCdfFast(z: number): number {
  const at = Math.min(2 * TABLE_END - TABLE_STEP, Math.max(0, z + TABLE_END)) / TABLE_STEP
  const i = Math.floor(at)
  return CDF_TABLE[i]! + (at - i) * (CDF_TABLE[i + 1]! - CDF_TABLE[i]!)
}

/** Lower triangle L with L L^T = correlation; semidefinite matrices get zeros where nothing is left. */
function choleskyOf(source: ErrorSource, celsius: readonly number[]): number[][] {
  const n = celsius.length
  const lower = Array.from({ length: n }, () => new Array<number>(n).fill(0))
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = correlationBetween(source.correlation, i, j, celsius[i]! - celsius[j]!)
      for (let k = 0; k < j; k++) sum -= lower[i]![k]! * lower[j]![k]!
      if (i === j) lower[i]![i] = sum > 1e-10 ? Math.sqrt(sum) : 0
      else lower[i]![j] = lower[j]![j] === 0 ? 0 : sum / lower[j]![j]!
    }
  }
  return lower
}

/** A column of standardised draws for each point; one and the same column where the error is common. */
function drawColumns(
  source: ErrorSource,
  celsius: readonly number[],
  random: Random,
  count: number,
): readonly Float64Array[] {
  const { correlation, distribution, degreesOfFreedom } = source
  const column = (kind: Distribution) => {
    const out = new Float64Array(count)
    draw(kind, 0, random, out, count)
    return out
  }
  if (correlation.kind === 'common') {
    const shared = column(standardised(distribution, degreesOfFreedom[0]!))
    return celsius.map(() => shared)
  }
  if (correlation.kind === 'independent') {
    return celsius.map((_, i) => column(standardised(distribution, degreesOfFreedom[i]!)))
  }
  const lower = choleskyOf(source, celsius)
  const normals = celsius.map(() => column({ kind: 'normal', sd: 1 }))
  return celsius.map((_, i) => {
    const out = new Float64Array(count)
    for (let j = 0; j <= i; j++) addScaled(out, normals[j]!, lower[i]![j]!)
    reshape(distribution, out)
    return out
  })
}

function addScaled(out: Float64Array, column: Float64Array, factor: number): void {
  if (factor === 0) return
  for (let k = 0; k < out.length; k++) out[k] = out[k]! + factor * column[k]!
}

/** Errors of every point in a block of trials, mK: drawn at their sources, followed through both conversions. */
function pointErrors(
  fit: PairFit,
  reference: Prepared,
  random: Random,
  count: number,
): readonly Float64Array[] {
  const { pairs, sources } = fit
  const celsius = pairs.map((p) => p.referenceC)
  const columns = () => pairs.map(() => new Float64Array(count))
  const ofReference = columns()
  const ofTest = columns()
  const errors = columns()
  const effects = sources.map((source) => pointEffectsMk(source, pairs))
  const totals = pairs.map((_, i) => Math.hypot(...effects.map((e) => e[i]!)))
  sources.forEach((source, q) => {
    if (effects[q]!.every((effect, i) => Math.abs(effect) <= NEGLIGIBLE * totals[i]!)) return
    const drawn = drawColumns(source, celsius, random, count)
    pairs.forEach((_, i) => {
      addScaled(ofReference[i]!, drawn[i]!, source.referenceRelative[i]!)
      addScaled(ofTest[i]!, drawn[i]!, source.underTestRelative[i]!)
      addScaled(errors[i]!, drawn[i]!, source.temperatureMk[i]!)
    })
  })
  pairs.forEach((pair, i) => {
    follow(errors[i]!, ofTest[i]!, fit.prepared, pair.underTest.signal, -1e3)
    if (pair.reference) follow(errors[i]!, ofReference[i]!, reference, pair.reference.signal, 1e3)
  })
  return errors
}

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
  for (let k = 0; k < errors.length; k++) {
    const r = relative[k]!
    if (r !== 0) errors[k] = errors[k]! + factor * (temperature(signal * (1 + r)) - base)
  }
}

function blockOf(
  fit: PairFit,
  reference: Prepared,
  template: BudgetTemplate,
  random: Random,
  outputs: readonly Float64Array[],
  from: number,
): void {
  const errors = pointErrors(fit, reference, random, BLOCK)
  const curve = template.components.filter((c) => c.enabled && c.actsOn === 'curve')
  inBathOf(fit).forEach((i, at) => {
    const t = fit.pairs[i]!.referenceC
    const point = outputs[2 * at]!.subarray(from, from + BLOCK)
    const along = outputs[2 * at + 1]!.subarray(from, from + BLOCK)
    addScaled(point, errors[i]!, 1)
    fit.sensitivities(t).forEach((weight, j) => {
      addScaled(along, errors[j]!, weight)
    })
    for (const component of curve) {
      const column = new Float64Array(BLOCK)
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

const haveSettled = (blocks: readonly Summary[][], k: number, tolerance: number): boolean =>
  (['u', 'low', 'high'] as const).every((what) => numericalSpread(blocks, k, what) < tolerance)

/**
 * Propagates distributions through the conversions of both thermometers and the fit's response, in blocks until u and
 * both ends have settled or the cap on trials is reached, and compares with the law of propagation.
 *
 * The conversions are followed as they are; the fit enters by its derivatives, since an error of a point is thousands
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
  const blocks: Summary[][] = []
  let filled = 0
  let settled = false
  while (filled + BLOCK <= most && !settled) {
    blockOf(fit, reference, template, random, outputs, filled)
    blocks.push(outputs.map((v) => summary(v.subarray(filled, filled + BLOCK), coverage)))
    filled += BLOCK
    settled =
      blocks.length > 1 && gum.every((g, k) => haveSettled(blocks, k, numericalTolerance(g.u, DIGITS) / 5))
  }
  const rows = gum.map((g, k): MethodComparison => {
    const i = inBath[Math.floor(k / 2)]!
    const found = summary(outputs[k]!.subarray(0, filled), coverage)
    const tolerance = numericalTolerance(g.u, DIGITS)
    const lowDifference = Math.abs(-g.expanded - found.low)
    const highDifference = Math.abs(g.expanded - found.high)
    return {
      celsius: fit.pairs[i]!.referenceC,
      what: k % 2 === 0 ? 'point' : 'curve',
      point: fit.pairs[i]!.point,
      u: g.u,
      expanded: g.expanded,
      uMonteCarlo: found.u,
      low: found.low,
      high: found.high,
      tolerance,
      lowDifference,
      highDifference,
      agrees:
        lowDifference <= tolerance + numericalSpread(blocks, k, 'low') &&
        highDifference <= tolerance + numericalSpread(blocks, k, 'high'),
    }
  })
  return { trials: filled, digits: DIGITS, seed, settled, rows }
}
