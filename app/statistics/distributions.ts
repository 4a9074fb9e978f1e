import { said } from '../messages/said.ts'
import { StatisticsError } from './errors.ts'
import { normalCdf } from './normal.ts'
import type { Random } from './random.ts'
import { tUpperQuantile } from './student-t.ts'

/** What is known of a quantity, as JCGM 101 table 1 assigns distributions to it. */
export type Distribution =
  | { readonly kind: 'constant' }
  | { readonly kind: 'normal'; readonly sd: number }
  /** Shifted and scaled t: the scale is s/√n, or U/k of a certificate that states its degrees of freedom. */
  | { readonly kind: 't'; readonly scale: number; readonly degreesOfFreedom: number }
  | { readonly kind: 'rectangular'; readonly halfWidth: number }
  /** Rectangular with limits that are themselves known to ± `limits`. */
  | { readonly kind: 'curvilinear-trapezoidal'; readonly halfWidth: number; readonly limits: number }
  | { readonly kind: 'triangular'; readonly halfWidth: number }
  /** `ratio` is the width of the top divided by that of the base. */
  | { readonly kind: 'trapezoidal'; readonly halfWidth: number; readonly ratio: number }
  | { readonly kind: 'arcsine'; readonly halfWidth: number }
  /** Of a quantity that cannot be negative and of which only the estimate is known. */
  | { readonly kind: 'exponential'; readonly mean: number }

/**
 * Standard uncertainty that a distribution stands for in a budget.
 *
 *   a/√3 rectangular, a/√6 triangular, a √((1 + β²)/6) trapezoidal, a/√2 arcsine, √(a²/3 + d²/9) curvilinear
 *   trapezoidal, the mean of an exponential, the scale of a t (its own standard deviation is only used by
 *   the Monte Carlo)
 *
 * Symbols  a half-width; β ratio of top to base; d half-width of the limits' own uncertainty
 * Source   JCGM 100:2008, 4.3.7 and 4.3.9 (rectangular, trapezoidal, triangular); JCGM 101:2008, table 1 and 6.4
 * Valid    widths ≥ 0, 0 ≤ β ≤ 1, d ≤ a
 * Throws   nothing
 */
export function standardUncertaintyOf(distribution: Distribution): number {
  switch (distribution.kind) {
    case 'constant':
      return 0
    case 'normal':
      return distribution.sd
    case 't':
      return distribution.scale
    case 'rectangular':
      return distribution.halfWidth / Math.sqrt(3)
    case 'curvilinear-trapezoidal':
      return Math.sqrt(distribution.halfWidth ** 2 / 3 + distribution.limits ** 2 / 9)
    case 'triangular':
      return distribution.halfWidth / Math.sqrt(6)
    case 'trapezoidal':
      return distribution.halfWidth * Math.sqrt((1 + distribution.ratio ** 2) / 6)
    case 'arcsine':
      return distribution.halfWidth / Math.SQRT2
    case 'exponential':
      return distribution.mean
  }
}

/**
 * Fills a column with draws of a quantity.
 *
 * Symbols  value, the estimate; distribution about it; out, the column; count, the number of draws
 * Source   JCGM 101:2008, 6.4.2 to 6.4.10 (the draws), 6.4.9.4 (t as a normal over the root of a chi-squared)
 * Valid    parameters as standardUncertaintyOf
 * Throws   nothing
 */
export function draw(
  distribution: Distribution,
  value: number,
  random: Random,
  out: Float64Array,
  count: number,
): void {
  const { uniform, normal } = random
  switch (distribution.kind) {
    case 'constant':
      out.fill(value, 0, count)
      return
    case 'normal': {
      const { sd } = distribution
      for (let k = 0; k < count; k++) out[k] = value + sd * normal()
      return
    }
    case 't': {
      const { scale, degreesOfFreedom } = distribution
      for (let k = 0; k < count; k++) {
        out[k] =
          value + (scale * normal()) / Math.sqrt(chiSquared(degreesOfFreedom, random) / degreesOfFreedom)
      }
      return
    }
    case 'rectangular': {
      const low = value - distribution.halfWidth
      const width = 2 * distribution.halfWidth
      for (let k = 0; k < count; k++) out[k] = low + width * uniform()
      return
    }
    case 'curvilinear-trapezoidal': {
      const { halfWidth, limits } = distribution
      for (let k = 0; k < count; k++) {
        const reach = halfWidth + limits * (2 * uniform() - 1)
        out[k] = value + reach * (2 * uniform() - 1)
      }
      return
    }
    case 'triangular': {
      const { halfWidth } = distribution
      for (let k = 0; k < count; k++) out[k] = value + halfWidth * (uniform() + uniform() - 1)
      return
    }
    case 'trapezoidal': {
      const outer = (distribution.halfWidth * (1 + distribution.ratio)) / 2
      const inner = (distribution.halfWidth * (1 - distribution.ratio)) / 2
      for (let k = 0; k < count; k++) {
        out[k] = value + outer * (2 * uniform() - 1) + inner * (2 * uniform() - 1)
      }
      return
    }
    case 'arcsine': {
      const { halfWidth } = distribution
      for (let k = 0; k < count; k++) out[k] = value + halfWidth * Math.sin(2 * Math.PI * uniform())
      return
    }
    case 'exponential': {
      const shift = value - distribution.mean
      for (let k = 0; k < count; k++) out[k] = shift - distribution.mean * Math.log(uniform())
    }
  }
}

/**
 * A draw of chi-squared, as twice a gamma of half the degrees of freedom.
 *
 * Symbols  ν degrees of freedom, need not be whole; random, the sequence it is drawn from
 * Source   G. Marsaglia, W. W. Tsang, ACM Trans. Math. Softw. 26 (2000) 363 (from memory)
 * Valid    ν > 0
 * Throws   nothing
 */
export function chiSquared(degreesOfFreedom: number, random: Random): number {
  if (degreesOfFreedom < 2) {
    const lifted = chiSquared(degreesOfFreedom + 2, random)
    return lifted * random.uniform() ** (2 / degreesOfFreedom)
  }
  const d = degreesOfFreedom / 2 - 1 / 3
  const c = 1 / Math.sqrt(9 * d)
  for (;;) {
    const x = random.normal()
    const v = (1 + c * x) ** 3
    if (v <= 0) continue
    const u = random.uniform()
    // What lies below this lies below what follows too, and most does (ibid., the squeeze).
    if (u < 1 - 0.0331 * x ** 4) return 2 * d * v
    if (Math.log(u) < 0.5 * x * x + d - d * v + d * Math.log(v)) return 2 * d * v
  }
}

/**
 * The value of a quantity at a normal deviate of the same probability: how correlated quantities that are not
 * normal are drawn.
 *
 *   x = F⁻¹(Φ(z))
 *
 * Symbols  z normal deviate; F distribution function of the quantity; value its estimate
 * Source   R. B. Nelsen, An Introduction to Copulas (normal copula; from memory); JCGM 101:2008 itself treats
 *          joint distributions of normal quantities only, 6.4.8
 * Valid    every kind but the curvilinear trapezoidal, whose F has no inverse in closed form
 * Throws   StatisticsError 'out-of-range' for that kind
 */
export function atNormalDeviate(distribution: Distribution, value: number, z: number): number {
  if (distribution.kind === 'constant') return value
  if (distribution.kind === 'normal') return value + distribution.sd * z
  // Computed in the lower half and mirrored, so that a far tail keeps its digits.
  const tail = normalCdf(-Math.abs(z))
  const side = z < 0 ? -1 : 1
  switch (distribution.kind) {
    case 't':
      return value + side * distribution.scale * tUpperQuantile(tail, distribution.degreesOfFreedom)
    case 'rectangular':
      return value + side * distribution.halfWidth * (1 - 2 * tail)
    case 'triangular':
      return value + side * distribution.halfWidth * (1 - Math.sqrt(2 * tail))
    case 'trapezoidal': {
      const { halfWidth, ratio } = distribution
      const slope = (1 - ratio) / (2 * (1 + ratio))
      const from =
        tail < slope ? 1 - Math.sqrt(2 * tail * (1 - ratio * ratio)) : (1 - 2 * tail) * (1 + ratio) * 0.5
      return value + side * halfWidth * from
    }
    case 'arcsine':
      return value + side * distribution.halfWidth * Math.cos(Math.PI * tail)
    case 'exponential':
      return value + distribution.mean * (-Math.log(z < 0 ? 1 - tail : tail) - 1)
    case 'curvilinear-trapezoidal':
      throw new StatisticsError('out-of-range', said('curvilinear-trapezoid-correlated', {}))
  }
}

/**
 * Refuses a distribution whose parameters mean nothing.
 *
 * Symbols  name of the input, for the words; distribution
 * Source   none (check of the arguments)
 * Valid    any
 * Throws   StatisticsError 'out-of-range'
 */
export function requireSound(name: string, distribution: Distribution): void {
  const parameters = Object.entries(distribution).filter(
    (entry): entry is [string, number] => entry[0] !== 'kind',
  )
  for (const [parameter, value] of parameters) {
    const wrong =
      parameter === 'degreesOfFreedom'
        ? !(value > 0)
        : parameter === 'ratio'
          ? !(value >= 0 && value <= 1)
          : !(value >= 0 && Number.isFinite(value))
    if (wrong) {
      throw new StatisticsError(
        'out-of-range',
        said('input-parameter-impossible', { name, parameter, value }),
        {
          name,
          parameter,
          value,
        },
      )
    }
  }
  if (distribution.kind === 'curvilinear-trapezoidal' && distribution.limits > distribution.halfWidth) {
    throw new StatisticsError('out-of-range', said('input-limits-too-uncertain', { name }), {
      name,
    })
  }
}
