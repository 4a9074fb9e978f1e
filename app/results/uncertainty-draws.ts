import { chiSquared, type Distribution, draw } from '../statistics/distributions.ts'
import { normalCdfFast } from '../statistics/normal-table.ts'
import type { Random } from '../statistics/random.ts'
import { fillNormal } from '../statistics/ziggurat.ts'
import { correlationBetween, type ErrorSource } from './uncertainty-sources.ts'
import { HALF_WIDTH_DIVISOR } from './uncertainty-template.ts'

/** A column of errors in a block of trials: its point, and what one standard deviation of a source does there. */
export interface ErrorColumn {
  readonly point: number
  readonly actOf: (source: ErrorSource) => number
}

/** Adds a block of errors to the columns they were made for; made once for a thermometer, used for each block. */
export type ErrorDraws = (random: Random, into: readonly Float64Array[]) => void

/** Below this part of its own variance nothing of an error is left to draw. */
const NOTHING_LEFT = 1e-7

/** Lower triangle L with L L^T = C; a semidefinite C gets columns of zeros where nothing is left. */
function triangleOf(size: number, covariance: (i: number, j: number) => number): number[][] {
  const lower = Array.from({ length: size }, () => new Array<number>(size).fill(0))
  for (let i = 0; i < size; i++) {
    const own = covariance(i, i)
    for (let j = 0; j <= i; j++) {
      let sum = i === j ? own : covariance(i, j)
      for (let k = 0; k < j; k++) sum -= lower[i]![k]! * lower[j]![k]!
      if (i === j) lower[i]![i] = sum > NOTHING_LEFT * own ? Math.sqrt(sum) : 0
      else lower[i]![j] = lower[j]![j] === 0 ? 0 : sum / lower[j]![j]!
    }
  }
  return lower
}

/** The distribution of standard deviation 1 that a component draws from. */
export function standardised(
  distribution: ErrorSource['distribution'],
  degreesOfFreedom: number,
): Distribution {
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

/** Standard normal values to values of a bounded distribution, so that correlated errors keep their distribution. */
function reshape(distribution: 'rectangular' | 'triangular' | 'arcsine', column: Float64Array): void {
  for (let k = 0; k < column.length; k++) {
    const p = normalCdfFast(column[k]!)
    if (distribution === 'rectangular') column[k] = Math.sqrt(3) * (2 * p - 1)
    else if (distribution === 'arcsine') column[k] = Math.SQRT2 * Math.sin(Math.PI * (p - 0.5))
    else column[k] = Math.sqrt(6) * (p < 0.5 ? Math.sqrt(2 * p) - 1 : 1 - Math.sqrt(2 * (1 - p)))
  }
}

export function addScaled(out: Float64Array, column: Float64Array, factor: number): void {
  if (factor === 0) return
  for (let k = 0; k < out.length; k++) out[k] = out[k]! + factor * column[k]!
}

/** Columns that are used again for each block, empty each time: a report draws thousands of blocks. */
function reused(columns: number): (count: number) => readonly Float64Array[] {
  let kept: Float64Array[] = []
  return (count) => {
    if (kept[0]?.length === count) for (const column of kept) column.fill(0)
    else kept = Array.from({ length: columns }, () => new Float64Array(count))
    return kept
  }
}

/** Whether the errors of a source are normal, so that the sum of all such sources is. */
export const isNormal = ({ distribution, degreesOfFreedom }: ErrorSource): boolean =>
  distribution === 'normal' || (distribution === 't' && !degreesOfFreedom.some(Number.isFinite))

/** Covariance of what sources do to two columns together. */
export function covarianceOf(
  sources: readonly ErrorSource[],
  celsius: readonly number[],
  columns: readonly ErrorColumn[],
): (k: number, l: number) => number {
  const acts = sources.map((source) => columns.map(({ actOf }) => actOf(source)))
  return (k, l) => {
    const [i, j] = [columns[k]!.point, columns[l]!.point]
    const apart = celsius[i]! - celsius[j]!
    return sources.reduce((sum, { correlation }, q) => {
      const product = acts[q]![k]! * acts[q]![l]!
      return product === 0 ? sum : sum + product * correlationBetween(correlation, i, j, apart)
    }, 0)
  }
}

/**
 * All normal sources at once: their sum is normal too, with one covariance over points and columns. It costs as many normal
 * numbers as that has dimensions, however many sources there are.
 */
function normalDraws(
  sources: readonly ErrorSource[],
  celsius: readonly number[],
  columns: readonly ErrorColumn[],
): ErrorDraws {
  const lower = triangleOf(columns.length, covarianceOf(sources, celsius, columns))
  const one = reused(1)
  return (random, into) => {
    const [scratch] = one(into[0]!.length) as [Float64Array]
    for (let k = 0; k < lower.length; k++) {
      if (lower[k]![k] === 0) continue
      fillNormal(random, scratch)
      for (let l = k; l < lower.length; l++) addScaled(into[l]!, scratch, lower[l]![k]!)
    }
  }
}

/**
 * Sources with t-distributions whose sizes are one estimate. A size that was estimated once and serves several points (repeatability
 * is pooled) is wrong by one factor for all of them: one chi-squared in a trial for points with the same degrees of freedom.
 */
function tDraws(
  sources: readonly ErrorSource[],
  celsius: readonly number[],
  columns: readonly ErrorColumn[],
): ErrorDraws {
  const lowers = sources.map(({ correlation }) =>
    triangleOf(celsius.length, (i, j) => correlationBetween(correlation, i, j, celsius[i]! - celsius[j]!)),
  )
  const dofs = [...new Set(sources.flatMap((s) => s.degreesOfFreedom.filter(Number.isFinite)))]
  const [one, all, some] = [reused(1), reused(celsius.length), reused(dofs.length)]
  return (random, into) => {
    const count = into[0]!.length
    const wide = some(count)
    const factors = new Map(
      dofs.map((dof, d) => {
        const factor = wide[d]!
        for (let k = 0; k < count; k++) factor[k] = Math.sqrt(dof / chiSquared(dof, random))
        return [dof, factor]
      }),
    )
    const [scratch] = one(count) as [Float64Array]
    sources.forEach((source, q) => {
      const lower = lowers[q]!
      const errors = all(count)
      for (let k = 0; k < lower.length; k++) {
        if (lower[k]![k] === 0) continue
        fillNormal(random, scratch)
        for (let i = k; i < lower.length; i++) addScaled(errors[i]!, scratch, lower[i]![k]!)
      }
      errors.forEach((error, i) => {
        const wider = factors.get(source.degreesOfFreedom[i]!)
        if (wider) for (let k = 0; k < count; k++) error[k] = error[k]! * wider[k]!
      })
      columns.forEach(({ point, actOf }, k) => {
        addScaled(into[k]!, errors[point]!, actOf(source))
      })
    })
  }
}

/** Sources that are one estimate together, the others each alone. */
function byEstimate(sources: readonly ErrorSource[]): ErrorSource[][] {
  const groups = new Map<string, ErrorSource[]>()
  sources.forEach((source, q) => {
    const isOne =
      source.estimate !== undefined && (source.distribution === 't' || source.distribution === 'normal')
    const key = isOne ? `${source.component} ${source.estimate}` : `${q}`
    groups.set(key, [...(groups.get(key) ?? []), source])
  })
  return [...groups.values()]
}

/** A source with bounds. Its errors at near temperatures are alike through the normal numbers they are made from. */
function boundedDraws(
  source: ErrorSource,
  distribution: 'rectangular' | 'triangular' | 'arcsine',
  celsius: readonly number[],
  columns: readonly ErrorColumn[],
): ErrorDraws {
  const { correlation } = source
  const own = standardised(distribution, Number.POSITIVE_INFINITY)
  const [one, all] = [reused(1), reused(celsius.length)]
  const alike = correlation.kind === 'smooth'
  const lower = alike
    ? triangleOf(celsius.length, (i, j) => correlationBetween(correlation, i, j, celsius[i]! - celsius[j]!))
    : []
  return (random, into) => {
    const count = into[0]!.length
    let errors: readonly Float64Array[]
    if (alike) {
      const [scratch] = one(count) as [Float64Array]
      errors = all(count)
      for (let k = 0; k < lower.length; k++) {
        if (lower[k]![k] === 0) continue
        fillNormal(random, scratch)
        for (let i = k; i < lower.length; i++) addScaled(errors[i]!, scratch, lower[i]![k]!)
      }
      for (const error of errors) reshape(distribution, error)
    } else if (correlation.kind === 'common') {
      const [shared] = one(count) as [Float64Array]
      draw(own, 0, random, shared, count)
      errors = celsius.map(() => shared)
    } else {
      errors = all(count)
      for (const error of errors) draw(own, 0, random, error, count)
    }
    columns.forEach(({ point, actOf }, k) => {
      addScaled(into[k]!, errors[point]!, actOf(source))
    })
  }
}

/**
 * How the errors of a comparison's points are drawn: each source from its own distribution, correlated between points as its
 * component says, added to what it acts on.
 *
 * Source: JCGM 101:2008, 6.4 (distributions) and 6.4.8 (joint normal); bounded quantities that hang together through a normal
 * copula (R. B. Nelsen, An Introduction to Copulas; from memory).
 */
export function errorDraws(
  sources: readonly ErrorSource[],
  celsius: readonly number[],
  columns: readonly ErrorColumn[],
): ErrorDraws {
  const parts = byEstimate(sources.filter((source) => !isNormal(source))).map((own) => {
    const [first] = own as [ErrorSource]
    const { distribution } = first
    return distribution === 't' || distribution === 'normal'
      ? tDraws(own, celsius, columns)
      : boundedDraws(first, distribution, celsius, columns)
  })
  const normal = normalDraws(sources.filter(isNormal), celsius, columns)
  return (random, into) => {
    normal(random, into)
    for (const part of parts) part(random, into)
  }
}
