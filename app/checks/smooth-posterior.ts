import { at, first } from '../base/lists.ts'
import { lowerTriangle, type Matrix, solveLower } from '../statistics/cholesky.ts'
import { normalUpperTail } from '../statistics/normal.ts'
import { dot } from '../statistics/vectors.ts'

/** A weighted sum of a curve's values at some places. */
export type Functional = readonly { readonly at: number; readonly weight: number }[]

/** Something measured: a weighted sum of a curve's values, plus unknowns with known factors, plus noise. */
export interface Observation {
  readonly of: Functional
  readonly value: number
  /** Standard uncertainty of the noise. */
  readonly u: number
  readonly unknowns: readonly number[]
}

export interface Posterior {
  /** Of each functional asked for. */
  readonly means: readonly number[]
  /** Half of what holds 95.45 %: standard where the distribution is normal. */
  readonly us: readonly number[]
  /** Of each unknown. */
  readonly unknowns: readonly { readonly mean: number; readonly u: number }[]
}

/**
 * Distances over which the curve changes, in the unit of its places, with an equal share of its size each: nothing says
 * beforehand that an error is smooth, and what a wave of small period does to a few places must not pass for a constant.
 */
const LENGTHS = [0.11, 0.2, 0.4, 0.8, 1.6] as const
/** Size of the curve, over the noise: steps of equal ratio, each as likely as the others. */
const SIZES = Array.from({ length: 16 }, (_, i) => 0.3 * 1.8 ** i)
/** Size of what differs from one place to the next, over the noise, with how likely that is beforehand. */
const ROUGH = [
  { size: 0, weight: 0.75 },
  { size: 1.7, weight: 0.17 },
  { size: 4, weight: 0.08 },
] as const
/** Places nearer than this are the same one. */
const SAME = 1e-5

/** Covariance of two places of a curve of size 1 that is twice differentiable. */
const covarianceAt = (distance: number, length: number): number => {
  const x = (Math.sqrt(5) * Math.abs(distance)) / length
  return (1 + x + (x * x) / 3) * Math.exp(-x)
}

/** Covariance of two places that have nothing in common unless they are one. */
const sameness = (distance: number): number => (Math.abs(distance) < SAME ? 1 : 0)

const between = (a: Functional, b: Functional, covariance: (distance: number) => number): number =>
  a.reduce((sum, p) => sum + p.weight * b.reduce((s, q) => s + q.weight * covariance(p.at - q.at), 0), 0)

/** What one choice of length, size and scatter makes of the observations. */
interface Answer {
  readonly logWeight: number
  readonly means: readonly number[]
  readonly variances: readonly number[]
  readonly unknowns: readonly { readonly mean: number; readonly variance: number }[]
}

/**
 * What is known of a smooth curve after some weighted sums of its values were measured, together with unknowns of which
 * nothing was known beforehand.
 *
 *   y = sum_j w_j e(x_j) + h beta + noise;  cov(e(x), e(x')) = s^2 (1 + d + d^2/3) exp(-d),  d = sqrt(5) |x - x'| / l
 *
 * The mean and the uncertainty of each functional are taken over all lengths l, sizes s and scatters of the noise, each
 * weighted with how likely it makes the observations (the unknowns integrated out): a curve that is smoother or rougher than
 * expected, and readings that scatter more than they state, widen the uncertainty by themselves.
 * Source: C. E. Rasmussen, C. K. I. Williams, Gaussian Processes for Machine Learning (2006), 2.7 for the unknowns, 4.2 for
 * the covariance, 5.2 for the weights (numbers of sections from memory).
 */
export function smoothPosterior(
  observations: readonly Observation[],
  functionals: readonly Functional[],
): Posterior {
  const us = observations.map(({ u }) => u).toSorted((a, b) => a - b)
  // Everything is worked out in units of the usual noise: parts in 10^9 and ones do not go well together.
  const unit = at(us, us.length >> 1)
  const y = observations.map(({ value }) => value / unit)
  const noise = observations.map(({ u }) => (u / unit) ** 2)
  const design = (observations[0]?.unknowns ?? []).map((_, j) => observations.map((o) => at(o.unknowns, j)))
  const answers: Answer[] = []
  const part = (covariance: (distance: number) => number): Part => ({
    among: observations.map((a) => observations.map((b) => between(a.of, b.of, covariance))),
    to: functionals.map((f) => observations.map((o) => between(f, o.of, covariance))),
    own: functionals.map((f) => between(f, f, covariance)),
  })
  const smooth = part((d) => LENGTHS.reduce((sum, l) => sum + covarianceAt(d, l), 0) / LENGTHS.length)
  const rough = part(sameness)
  for (const size of SIZES) {
    for (const { size: more, weight } of ROUGH) {
      const curve = together(smooth, size ** 2, rough, more ** 2)
      const covariance = curve.among.map((row, i) => row.map((c, j) => c + (i === j ? at(noise, i) : 0)))
      const answer = solve(covariance, y, design, curve)
      answers.push({ ...answer, logWeight: answer.logWeight + Math.log(weight) })
    }
  }
  return mixture(answers, unit)
}

/** Covariances of a curve: among the observations, of the functionals with them, and of each functional. */
interface Part {
  readonly among: Matrix
  readonly to: Matrix
  readonly own: readonly number[]
}

function together(a: Part, squareA: number, b: Part, squareB: number): Part {
  const rows = (p: Matrix, q: Matrix) =>
    p.map((row, i) => row.map((x, j) => squareA * x + squareB * at(at(q, i), j)))
  return {
    among: rows(a.among, b.among),
    to: rows(a.to, b.to),
    own: a.own.map((x, i) => squareA * x + squareB * at(b.own, i)),
  }
}

/** Mean and variance with the unknowns integrated out; Rasmussen and Williams, equations 2.41 to 2.45. */
function solve(covariance: Matrix, y: readonly number[], design: Matrix, { to, own }: Part): Answer {
  const lower = lowerTriangle(covariance)
  const z = solveLower(lower, y)
  const h = design.map((column) => solveLower(lower, column))
  const information = lowerTriangle(h.map((a) => h.map((b) => dot(a, b))))
  const right = solveLower(
    information,
    h.map((column) => dot(column, z)),
  )
  const logWeight =
    -lower.reduce((sum, row, i) => sum + Math.log(at(row, i)), 0) -
    information.reduce((sum, row, i) => sum + Math.log(at(row, i)), 0) -
    0.5 * (dot(z, z) - dot(right, right))
  const found = to.map((row, k) => {
    const q = solveLower(lower, row)
    const r = solveLower(
      information,
      h.map((column) => dot(column, q)),
    )
    return {
      mean: dot(q, z) - dot(r, right),
      variance: Math.max(0, at(own, k) - dot(q, q) + dot(r, r)),
    }
  })
  const unknowns = design.map((_, j) => {
    const unitVector = design.map((__, k) => (k === j ? 1 : 0))
    const r = solveLower(information, unitVector)
    return { mean: dot(r, right), variance: dot(r, r) }
  })
  return { logWeight, means: found.map((f) => f.mean), variances: found.map((f) => f.variance), unknowns }
}

/** Coverage of two standard deviations of a normal distribution. */
const COVERAGE = 0.9545
const HALVINGS = 24

/** Half the width about a mean that holds the coverage of a mixture of normal distributions: few of them may be far wider than the rest. */
function halfWidth(
  each: readonly { mean: number; sd: number }[],
  shares: readonly number[],
  centre: number,
): number {
  const outside = (half: number) =>
    each.reduce((sum, { mean, sd }, i) => {
      if (sd === 0) return sum + (Math.abs(mean - centre) > half ? at(shares, i) : 0)
      const [above, below] = [centre + half - mean, mean - centre + half]
      return sum + at(shares, i) * (normalUpperTail(above / sd) + normalUpperTail(below / sd))
    }, 0)
  let low = 0
  let high = Math.max(...each.map(({ mean, sd }) => Math.abs(mean - centre) + 4 * sd))
  for (let i = 0; i < HALVINGS; i++) {
    const middle = (low + high) / 2
    if (outside(middle) > 1 - COVERAGE) low = middle
    else high = middle
  }
  return high
}

/** Answers of so little weight move nothing. */
const NEGLIGIBLE = 1e-5

/** All answers together, each by its weight. */
function mixture(answers: readonly Answer[], unit: number): Posterior {
  const most = Math.max(...answers.map(({ logWeight }) => logWeight))
  const weights = answers.map(({ logWeight }) => Math.exp(logWeight - most))
  const total = weights.reduce((sum, w) => sum + w, 0)
  const counting = answers.flatMap((answer, i) =>
    at(weights, i) > NEGLIGIBLE * total ? [{ answer, weight: at(weights, i) }] : [],
  )
  const whole = counting.reduce((sum, { weight }) => sum + weight, 0)
  const shares = counting.map(({ weight }) => weight / whole)
  const over = (of: (answer: Answer) => { mean: number; variance: number }) => {
    const each = counting.map(({ answer }) => {
      const { mean, variance } = of(answer)
      return { mean, sd: Math.sqrt(variance) }
    })
    const mean = each.reduce((sum, e, i) => sum + at(shares, i) * e.mean, 0)
    return { mean: mean * unit, u: (halfWidth(each, shares, mean) * unit) / 2 }
  }
  const all = first(answers).means.map((_, k) =>
    over((a) => ({ mean: at(a.means, k), variance: at(a.variances, k) })),
  )
  return {
    means: all.map(({ mean }) => mean),
    us: all.map(({ u }) => u),
    unknowns: first(answers).unknowns.map((_, j) => over((a) => at(a.unknowns, j))),
  }
}
