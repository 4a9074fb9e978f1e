import type { PairFacts, PairPoint } from './pair-facts.ts'
import { actsOf } from './uncertainty-acts.ts'
import type { BudgetTemplate, PointCorrelation, TemplateComponent } from './uncertainty-template.ts'

/**
 * One source of error and what one standard uncertainty of it does at each point. A source may act on the signal of
 * the reference, on that of the thermometer under test, and on the temperature between them, at the same time.
 */
export interface ErrorSource {
  readonly component: string
  readonly name: string
  /** Where its size comes from. */
  readonly source: string
  readonly kind: 'A' | 'B'
  readonly distribution: TemplateComponent['distribution']
  readonly correlation: PointCorrelation
  readonly referenceRelative: readonly number[]
  readonly underTestRelative: readonly number[]
  readonly temperatureMk: readonly number[]
  /** One for each point; Infinity where the size is taken as known. */
  readonly degreesOfFreedom: readonly number[]
  /** All thermometers under test feel the same error, whatever the rest of its component is. */
  readonly shared?: boolean
  /** Sources of a component whose sizes are one and the same estimate, wrong by one factor. */
  readonly estimate?: string
}

const plus = (a: readonly number[], b: readonly number[], factor: number) =>
  a.map((x, i) => x + factor * b[i]!)

type Columns = Pick<ErrorSource, 'referenceRelative' | 'underTestRelative' | 'temperatureMk'>

const columnsOf = (a: Columns, b: Columns, factor: number): Columns => ({
  referenceRelative: plus(a.referenceRelative, b.referenceRelative, factor),
  underTestRelative: plus(a.underTestRelative, b.underTestRelative, factor),
  temperatureMk: plus(a.temperatureMk, b.temperatureMk, factor),
})

/**
 * Two components with a correlation coefficient r as two that have none: of the second's error the part r is the first's own
 * error, and the rest, the root of 1 - r², stands alone.
 *
 *   u² = (a + r b)² + (1 - r²) b² = a² + b² + 2 r a b
 *
 * Source: JCGM 100:2008, 5.2.2, equation (16), and F.1.2.3.
 */
function withCorrelations(sources: readonly ErrorSource[], template: BudgetTemplate): ErrorSource[] {
  let current = [...sources]
  for (const { id, name, correlatedWith } of template.components) {
    if (!correlatedWith) continue
    const { component, r } = correlatedWith
    const [first, second] = [component, id].map((one) => current.find((s) => s.component === one))
    if (!first || !second) continue
    const shared: ErrorSource = {
      ...first,
      ...columnsOf(first, second, r),
      source: `${first.source}; with what “${name}” shares with it, r = ${r}`,
    }
    const alone: ErrorSource = {
      ...second,
      ...columnsOf(second, second, Math.sqrt(1 - r * r) - 1),
      source: `${second.source}; without what it shares with “${first.name}”, r = ${r}`,
    }
    current = current.map((s) => (s === first ? shared : s === second ? alone : s))
  }
  return current
}

/** The sources of error of a pair over its points, as a template says, in the template's order. */
export function errorSources(
  template: BudgetTemplate,
  points: readonly PairPoint[],
  facts: PairFacts,
): ErrorSource[] {
  const zero = points.map(() => 0)
  const sources = template.components
    .filter((component) => component.enabled && component.actsOn === 'points')
    .flatMap((component) =>
      actsOf(component, points, facts).map((acts) => ({
        component: component.id,
        name: component.name,
        source: acts.source ?? component.source,
        kind: component.kind,
        distribution: acts.distribution ?? component.distribution,
        correlation: acts.correlation ?? component.correlation,
        referenceRelative: acts.referenceRelative ?? zero,
        underTestRelative: acts.underTestRelative ?? zero,
        temperatureMk: acts.temperatureMk ?? zero,
        degreesOfFreedom:
          acts.degreesOfFreedom ?? points.map(() => component.degreesOfFreedom ?? Number.POSITIVE_INFINITY),
        ...(acts.shared && { shared: true }),
        ...(acts.estimate !== undefined && { estimate: acts.estimate }),
      })),
    )
  return withCorrelations(sources, template)
}

/**
 * What one standard uncertainty of a source does to (reference temperature less temperature of the thermometer under
 * test) at each point, mK:
 *
 *   c = r_S R_S/(dR_S/dt) + t - r_X R_X/(dR_X/dt),  r_S that of the first reference by its weight
 *
 * A source common to both (their reference resistor) enters with both signs and largely cancels where the two
 * thermometers are alike.
 */
export function pointEffectsMk(source: ErrorSource, points: readonly PairPoint[]): number[] {
  return points.map(
    (p, i) =>
      source.referenceRelative[i]! * (p.references[0]?.mkPerRelative ?? 0) +
      source.temperatureMk[i]! -
      source.underTestRelative[i]! * p.underTestMkPerRelative,
  )
}

/** Correlation of one source's errors at two points. */
export function correlationBetween(
  correlation: PointCorrelation,
  i: number,
  j: number,
  apartK: number,
): number {
  if (i === j) return 1
  switch (correlation.kind) {
    case 'independent':
      return 0
    case 'common':
      return 1
    case 'smooth':
      return Math.exp(-(apartK * apartK) / (2 * correlation.lengthK * correlation.lengthK))
  }
}

/** Variance that a source brings to Σ w_i e_i, e the errors of the points, mK². */
export function combinedVariance(
  weights: readonly number[],
  effectsMk: readonly number[],
  correlation: PointCorrelation,
  celsius: readonly number[],
): number {
  return Math.max(0, combinedCovariance(weights, weights, effectsMk, correlation, celsius))
}

/**
 * Covariance that a source brings to two sums Σ v_i e_i and Σ w_i e_i, e the errors of the points:
 *
 *   Σ_ij v_i c_i r(i, j) c_j w_j
 *
 * Source: JCGM 100:2008, F.1.2.3, equation (F.2).
 */
export function combinedCovariance(
  left: readonly number[],
  right: readonly number[],
  effectsMk: readonly number[],
  correlation: PointCorrelation,
  celsius: readonly number[],
): number {
  let sum = 0
  for (let i = 0; i < left.length; i++) {
    const a = left[i]! * effectsMk[i]!
    const b = right[i]! * effectsMk[i]!
    if (a === 0 && b === 0) continue
    sum += a * b
    if (correlation.kind === 'independent') continue
    for (let j = 0; j < i; j++) {
      const r = correlationBetween(correlation, i, j, celsius[i]! - celsius[j]!)
      if (r !== 0) sum += r * effectsMk[j]! * (a * right[j]! + b * left[j]!)
    }
  }
  return sum
}
