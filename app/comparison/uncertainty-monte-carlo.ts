import { exactCoverage } from '../statistics/coverage.ts'
import { normalCdf } from '../statistics/normal.ts'
import type { Prepared } from '../thermometry/convert.ts'
import type { PairFit } from './analysis-fit.ts'
import { type Draws, draws } from './uncertainty-random.ts'
import { correlationBetween, type ErrorSource, fixedMk } from './uncertainty-sources.ts'
import type { BudgetTemplate } from './uncertainty-template.ts'

/** Trials drawn between two looks at whether the result has settled; JCGM 101:2008, 7.9.4. */
const BLOCK = 10_000
/** Significant digits of u that the comparison of the two methods is to hold to. */
const DIGITS = 2

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

/**
 * Numerical tolerance of a standard uncertainty held to some digits: half a unit of the last of them.
 *
 * Source: JCGM 101:2008, 7.9.2.
 */
export function numericalTolerance(u: number, digits = DIGITS): number {
  if (!(u > 0)) return 0
  const place = Math.floor(Math.log10(Number(u.toPrecision(digits)))) - (digits - 1)
  return 0.5 * 10 ** place
}

/** A standardised draw (mean 0; standard deviation 1 but for t) from a standard normal one. */
function shaped(distribution: ErrorSource['distribution'], z: number): number {
  if (distribution === 'normal' || distribution === 't') return z
  const p = normalCdf(z)
  switch (distribution) {
    case 'rectangular':
      return Math.sqrt(3) * (2 * p - 1)
    case 'triangular':
      return Math.sqrt(6) * (p < 0.5 ? Math.sqrt(2 * p) - 1 : 1 - Math.sqrt(2 * (1 - p)))
    case 'arcsine':
      return Math.SQRT2 * Math.sin(Math.PI * (p - 0.5))
  }
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

/** One draw of a source's standardised errors at every point, written into `out`. */
function drawInto(out: Float64Array, source: ErrorSource, lower: number[][] | null, random: Draws): void {
  const { correlation, distribution, degreesOfFreedom } = source
  const one = (i: number) =>
    distribution === 't' ? random.t(degreesOfFreedom[i]!) : shaped(distribution, random.normal())
  if (correlation.kind === 'common') {
    out.fill(one(0))
    return
  }
  if (correlation.kind === 'independent') {
    for (let i = 0; i < out.length; i++) out[i] = one(i)
    return
  }
  const z = out.map(() => random.normal())
  for (let i = 0; i < out.length; i++) {
    let sum = 0
    for (let k = 0; k <= i; k++) sum += lower![i]![k]! * z[k]!
    out[i] = shaped(distribution, sum)
  }
}

interface Outputs {
  readonly values: Float64Array[]
  filled: number
}

function blockOf(
  fit: PairFit,
  reference: Prepared,
  template: BudgetTemplate,
  random: Draws,
  outputs: Outputs,
  count: number,
): void {
  const { pairs, sources } = fit
  const n = pairs.length
  const celsius = pairs.map((p) => p.referenceC)
  const active = sources.filter((s) =>
    [s.referenceRelative, s.underTestRelative, s.temperatureMk].some((list) => list.some((v) => v !== 0)),
  )
  const lowers = active.map((s) => (s.correlation.kind === 'smooth' ? choleskyOf(s, celsius) : null))
  const inBath = pairs.flatMap((p, i) => (p.cell ? [] : [i]))
  const rows = inBath.map((i) => fit.sensitivities(celsius[i]!))
  const curve = template.components.filter((c) => c.enabled && c.actsOn === 'curve')
  const curveMk = inBath.map((i) => curve.map((c) => fixedMk(c, celsius[i]!)))
  const baseReference = pairs.map((p) =>
    p.reference ? reference.toTemperature(p.reference.signal).value : 0,
  )
  const baseTest = pairs.map((p) => fit.prepared.toTemperature(p.underTest.signal).value)
  const z = new Float64Array(n)
  const ofReference = new Float64Array(n)
  const ofTest = new Float64Array(n)
  const shift = new Float64Array(n)
  for (let trial = 0; trial < count; trial++) {
    ofReference.fill(0)
    ofTest.fill(0)
    shift.fill(0)
    active.forEach((source, q) => {
      drawInto(z, source, lowers[q]!, random)
      for (let i = 0; i < n; i++) {
        ofReference[i]! += source.referenceRelative[i]! * z[i]!
        ofTest[i]! += source.underTestRelative[i]! * z[i]!
        shift[i]! += source.temperatureMk[i]! * z[i]!
      }
    })
    for (let i = 0; i < n; i++) {
      const pair = pairs[i]!
      const moved = pair.reference
        ? reference.toTemperature(pair.reference.signal * (1 + ofReference[i]!)).value - baseReference[i]!
        : 0
      const test = fit.prepared.toTemperature(pair.underTest.signal * (1 + ofTest[i]!)).value - baseTest[i]!
      shift[i]! += (moved - test) * 1e3
    }
    const at = outputs.filled + trial
    inBath.forEach((i, k) => {
      outputs.values[2 * k]![at] = shift[i]!
      let y = 0
      for (let j = 0; j < n; j++) y += rows[k]![j]! * shift[j]!
      curve.forEach((c, m) => {
        y += shaped(c.distribution, random.normal()) * curveMk[k]![m]!
      })
      outputs.values[2 * k + 1]![at] = y
    })
  }
  outputs.filled += count
}

function summary(values: Float64Array, coverage: number): { u: number; low: number; high: number } {
  const sorted = values.toSorted()
  const n = sorted.length
  const mean = values.reduce((sum, v) => sum + v, 0) / n
  const u = Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (n - 1))
  const tail = (1 - exactCoverage(coverage)) / 2
  const place = (p: number) => sorted[Math.min(n - 1, Math.max(0, Math.round(p * n) - 1))]!
  return { u, low: place(tail), high: place(1 - tail) }
}

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
  const random = draws(seed)
  const inBath = fit.pairs.flatMap((p, i) => (p.cell ? [] : [i]))
  const outputs: Outputs = {
    values: inBath.flatMap(() => [new Float64Array(most), new Float64Array(most)]),
    filled: 0,
  }
  const gum = inBath.flatMap((i) => [fit.atPoint(i), fit.atTemperature(fit.pairs[i]!.referenceC)])
  const blocks: { u: number; low: number; high: number }[][] = []
  let settled = false
  while (outputs.filled + BLOCK <= most) {
    const from = outputs.filled
    blockOf(fit, reference, template, random, outputs, BLOCK)
    blocks.push(outputs.values.map((v) => summary(v.subarray(from, outputs.filled), coverage)))
    const h = blocks.length
    if (h < 2) continue
    settled = gum.every((g, k) => {
      const tolerance = numericalTolerance(g.u) / 5
      return (['u', 'low', 'high'] as const).every((what) => {
        const list = blocks.map((b) => b[k]![what])
        const mean = list.reduce((sum, v) => sum + v, 0) / h
        const variance = list.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (h * (h - 1))
        return 2 * Math.sqrt(variance) < tolerance
      })
    })
    if (settled) break
  }
  const rows = gum.map((g, k): MethodComparison => {
    const i = inBath[Math.floor(k / 2)]!
    const found = summary(outputs.values[k]!.subarray(0, outputs.filled), coverage)
    const tolerance = numericalTolerance(g.u)
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
      agrees: lowDifference <= tolerance && highDifference <= tolerance,
    }
  })
  return { trials: outputs.filled, digits: DIGITS, seed, settled, rows }
}
