import { fitThermometer, type ThermometerFit } from '../fit/fit.ts'
import type { FitModel } from '../fit/fit-model.ts'
import { welchSatterthwaite } from '../statistics/budget.ts'
import { coverageFactor } from '../statistics/coverage.ts'
import { type Prepared, prepare } from '../thermometry/convert.ts'
import { WTP_C } from '../thermometry/its90-reference.ts'
import type { Pair } from './analysis-pairs.ts'
import type { PairFacts } from './pair-facts.ts'
import {
  type ExpectedSource,
  type ResidualScatter,
  residualScatter,
  scatterLimit,
} from './residual-scatter.ts'
import { fixedMk } from './uncertainty-acts.ts'
import {
  combinedCovariance,
  combinedVariance,
  correlationBetween,
  type ErrorSource,
  errorSources,
  pointEffectsMk,
} from './uncertainty-sources.ts'
import { type BudgetTemplate, HALF_WIDTH_DIVISOR, type PointCorrelation } from './uncertainty-template.ts'

/** By how much a point is moved to see what its error does to the fit, K: large against rounding, small against curvature. */
const STEP_K = 1e-3
/** Chance of residuals that the budget explains to count as beyond it and widen U; common practice, no source. */
const BEYOND = 0.05
/** A point this near to 0.01 degC gives R(WTP) itself. */
const WTP_NEAR_K = 0.02

/** One component's part in some result: its standard uncertainty there and its degrees of freedom. */
export interface BudgetLine {
  readonly component: string
  readonly name: string
  readonly kind: 'A' | 'B'
  readonly distribution: string
  readonly correlation: PointCorrelation['kind']
  readonly u: number
  readonly degreesOfFreedom: number
  readonly source: string
  readonly explain: string
}

/** A combined result: standard uncertainty, effective degrees of freedom, coverage factor, expanded uncertainty. */
export interface Combined {
  readonly u: number
  readonly degreesOfFreedom: number
  readonly k: number
  readonly expanded: number
  readonly lines: readonly BudgetLine[]
}

export interface PairFit {
  readonly fit: ThermometerFit
  readonly prepared: Prepared
  readonly model: FitModel
  readonly pairs: readonly Pair[]
  readonly sources: readonly ErrorSource[]
  readonly scatter: ResidualScatter
  readonly excess: PairFacts['excess']
  /** Root mean square of the residuals that the budget leads to expect, mK; and as found. */
  readonly expectedResidualMk: number
  readonly residualMk: number
  /** Budget of a point itself: reference temperature against the thermometer's signal. */
  atPoint(index: number): Combined
  /** Budget of a temperature found with the fitted conversion, mK. */
  atTemperature(celsius: number): Combined
  /** Budget of a coefficient, in its own unit. */
  ofCoefficient(name: string): Combined
  /** Standard deviations that the budget expects of a residual, mK: what all thermometers share of the reference, and the rest. */
  expectedResidual(index: number): { readonly sharedMk: number; readonly ownMk: number }
  /** d(temperature by the fit)/d(error of each point), dimensionless. */
  sensitivities(celsius: number): number[]
  /** Covariance of the parameters named, in their own units: every source through all points at once. */
  covariance(names: readonly string[]): number[][]
}

/** Points to spare from which on residuals show how well an equation follows; common practice, no source. */
const RESIDUALS_TELL = 2

/** Whether a component stands in the curve's budget: one that residuals replace does only while they are too few. */
export function actsOnCurve(c: BudgetTemplate['components'][number], degreesOfFreedom: number): boolean {
  return (
    c.enabled && c.actsOn === 'curve' && !(c.replacedBy === 'residuals' && degreesOfFreedom >= RESIDUALS_TELL)
  )
}

/** Components of which all thermometers under test feel the same error. */
const SHARED: readonly string[] = [
  'noise-reference',
  'reference-calibration',
  'reference-wtp',
  'reference-drift',
  'reference-disagreement',
  'self-heating-reference',
]

/** Effective degrees of freedom of a sum of independent parts; JCGM 100:2008, equation (G.2b). */
function freedomOf(parts: readonly { u: number; degreesOfFreedom: number }[]): number {
  return welchSatterthwaite(Math.hypot(...parts.map(({ u }) => u)), parts)
}

/**
 * Parts whose sizes are one estimate as one: what is wrong of their variances is wrong of all alike and adds up as it is,
 *
 *   1/sqrt(nu) = sum(u_i^2 / sqrt(nu_i)) / sum(u_i^2)
 *
 * Source: JCGM 100:2008, E.4.3 (relative uncertainty of a variance, sqrt(2/nu)) and 5.2.2, note 1 (coefficient +1).
 */
function byEstimate(parts: readonly Part[]): { u: number; degreesOfFreedom: number }[] {
  const estimates = [...new Set(parts.flatMap((p) => p.estimate ?? []))]
  return [
    ...parts.filter((p) => p.estimate === undefined),
    ...estimates.map((estimate) => {
      const own = parts.filter((p) => p.estimate === estimate)
      const squares = own.reduce((sum, { u }) => sum + u * u, 0)
      const uncertain = own.reduce((sum, p) => sum + (p.u * p.u) / Math.sqrt(p.degreesOfFreedom), 0)
      return {
        u: Math.sqrt(squares),
        degreesOfFreedom: squares > 0 ? (squares / uncertain) ** 2 : Number.POSITIVE_INFINITY,
      }
    }),
  ]
}

function calibrationPoints(pairs: readonly Pair[], uMk: readonly number[], shiftK: readonly number[]) {
  return pairs.map((pair, i) => {
    const slope = (pair.underTest.signal / pair.underTestMkPerRelative) * 1e3
    return {
      cell: pair.cell,
      t90C: pair.referenceC,
      // An error of the point is put on the signal, so that a cell's 0.01 degC stays what it is.
      signal: pair.underTest.signal - (shiftK[i] ?? 0) * slope,
      uT: uMk[i]! * 1e-3,
    }
  })
}

type CalibrationPoints = ReturnType<typeof calibrationPoints>

/** R(WTP) that fits best, where no point was taken at the water triple point: the minimum of chi-squared by parabolas. */
function bestRWtp(points: CalibrationPoints, model: Extract<FitModel, { kind: 'its90' }>): number {
  const start = fitThermometer({ model: { kind: 'callendar-van-dusen', c: 0 }, points })
  let centre = prepare(start.conversion).toSignal(WTP_C).value
  const chi = (rWtp: number) => fitThermometer({ model: { ...model, rWtp }, points }).chiSquared
  let step = centre * 2e-5
  for (let pass = 0; pass < 4; pass++) {
    const [low, mid, high] = [chi(centre - step), chi(centre), chi(centre + step)] as const
    const curvature = low - 2 * mid + high
    if (!(curvature > 0)) break
    centre += (0.5 * step * (low - high)) / curvature
    step /= 4
  }
  return centre
}

function fitOnce(model: FitModel, points: CalibrationPoints): ThermometerFit {
  if (model.kind !== 'its90' || model.rWtp !== undefined) return fitThermometer({ model, points })
  // A cell defines R(WTP); a bath that happens to stand at 0 degC is a point like any other beside it.
  const cells = points.filter((p) => p.cell)
  if (cells.length > 0) {
    const rWtp = cells.reduce((sum, p) => sum + p.signal, 0) / cells.length
    return fitThermometer({ model: { ...model, rWtp }, points })
  }
  if (points.some(({ t90C }) => Math.abs(t90C - 0.01) <= WTP_NEAR_K)) return fitThermometer({ model, points })
  const temperatures = points.map(({ t90C }) => t90C)
  const spans = Math.min(...temperatures) < 30 && Math.max(...temperatures) > -40
  if (!spans || points.length < 3) return fitThermometer({ model, points })
  const fit = fitThermometer({ model: { ...model, rWtp: bestRWtp(points, model) }, points })
  // R(WTP) is a parameter of the fit here, which the equation's own count does not know.
  return { ...fit, degreesOfFreedom: Math.max(0, fit.degreesOfFreedom - 1) }
}

/** Parameters of a fit that a report states: the coefficients, and the scale where the conversion has one. */
export function parametersOf(fit: ThermometerFit): Readonly<Record<string, number>> {
  const { conversion, coefficients } = fit
  if (conversion.kind === 'its90') return { rWtp: Number(conversion.rWtp), ...coefficients }
  if (conversion.kind === 'callendar-van-dusen') {
    return { r0: Number(conversion.r0), ...coefficients }
  }
  return coefficients
}

/** A source as far as residuals show it; what is known of its size is taken from where it acts most. */
function expectedSource(
  source: ErrorSource,
  effectMk: readonly number[],
  celsius: readonly number[],
  isShared: boolean,
): ExpectedSource {
  const { component, correlation, degreesOfFreedom, estimate } = source
  const most = effectMk.reduce((best, mk, i) => (Math.abs(mk) > Math.abs(effectMk[best]!) ? i : best), 0)
  return {
    covarianceMk2: (i, j) =>
      effectMk[i]! * effectMk[j]! * correlationBetween(correlation, i, j, celsius[i]! - celsius[j]!),
    varianceMk2: (weights) => combinedVariance(weights, effectMk, correlation, celsius),
    degreesOfFreedom: degreesOfFreedom[most]!,
    estimate: `${component} ${estimate ?? source.source}`,
    isShared: isShared || source.shared === true,
  }
}

/** What one source brings to a result. */
interface Part {
  readonly component: string
  readonly u: number
  readonly degreesOfFreedom: number
  readonly source?: string
  readonly distribution?: string
  readonly shared?: boolean
  readonly estimate?: string
}

function linesOf(template: BudgetTemplate, parts: readonly Part[]): BudgetLine[] {
  return template.components
    .filter((c) => parts.some((p) => p.component === c.id))
    .map((c) => {
      const own = parts.filter((p) => p.component === c.id)
      const largest = own.toSorted((a, b) => b.u - a.u)
      return {
        component: c.id,
        name: c.name,
        kind: c.kind,
        distribution: largest[0]?.distribution ?? c.distribution,
        correlation: c.correlation.kind,
        u: Math.sqrt(own.reduce((sum, { u }) => sum + u * u, 0)),
        degreesOfFreedom: freedomOf(byEstimate(own)),
        source: largest.find((p) => p.source !== undefined)?.source ?? c.source,
        explain: c.explain,
      }
    })
}

function combine(lines: readonly BudgetLine[], coverage: number): Combined {
  const u = Math.sqrt(lines.reduce((sum, line) => sum + line.u * line.u, 0))
  const degreesOfFreedom = freedomOf(lines)
  const k = coverageFactor(coverage, degreesOfFreedom)
  return { u, degreesOfFreedom, k, expanded: k * u, lines: lines.toSorted((a, b) => b.u - a.u) }
}

/** The fit once more with each point moved by a step either way. */
function responsesOf(model: FitModel, pairs: readonly Pair[], uMk: readonly number[]) {
  return pairs.map((_, i) => {
    const along = (sign: number) => {
      const shifted = fitOnce(
        model,
        calibrationPoints(
          pairs,
          uMk,
          pairs.map((_p, j) => (i === j ? sign * STEP_K : 0)),
        ),
      )
      return { parameters: parametersOf(shifted), prepared: prepare(shifted.conversion) }
    }
    return { up: along(1), down: along(-1) }
  })
}

/**
 * Fits a thermometer under test to its pairs and carries every source of error through the fit.
 *
 * The fit's response to an error of each point is found by moving the point; a source that acts on several points acts
 * through all of them at once, with its own signs and correlation. So a common error of the reference moves the whole
 * curve and is not averaged away, noise is, and an error of the resistor shared by both thermometers cancels as far as
 * they are alike.
 *
 *   u^2(y) = sum over sources q of  sum_ij (dy/de_i) c_qi r_q(i, j) c_qj (dy/de_j)
 *
 * Symbols: y a temperature or a coefficient, e_i the error of point i, c_qi what one standard uncertainty of source q
 * does there, r_q the correlation of its errors at two points. Source: JCGM 100:2008, equation (13) and 5.2.
 */
export function fitPairs(
  pairs: readonly Pair[],
  model: FitModel,
  template: BudgetTemplate,
  facts: PairFacts,
  coverage: number,
): PairFit {
  const celsius = pairs.map((p) => p.referenceC)
  const firstSources = errorSources(template, pairs, facts)
  const totals = (sources: readonly ErrorSource[]) => {
    const effects = sources.map((source) => pointEffectsMk(source, pairs))
    return pairs.map((_, i) => Math.max(1e-6, Math.hypot(...effects.map((e) => e[i]!))))
  }
  const uMk = totals(firstSources)
  const fit = fitOnce(model, calibrationPoints(pairs, uMk, []))
  const prepared = prepare(fit.conversion)
  const parameters = parametersOf(fit)
  const moved = responsesOf(model, pairs, uMk)
  const sensitivitiesAtSignal = (signal: number) =>
    moved.map(
      ({ up, down }) =>
        (up.prepared.toTemperature(signal).value - down.prepared.toTemperature(signal).value) / (2 * STEP_K),
    )
  const sensitivities = (t: number) => sensitivitiesAtSignal(prepared.toSignal(t).value)
  const atPairs = pairs.map((p) => sensitivitiesAtSignal(p.underTest.signal))

  // A temperature read too low by the fit at a point where its own error is e_i: r = (H - 1) e.
  const residualRows = atPairs.map((row, i) => row.map((h, j) => h - (i === j ? 1 : 0)))
  const inBath = pairs.flatMap((p, i) => (p.cell ? [] : [i]))
  // Visits that were seen to differ do so by their whole half-width, of which the budget takes the standard deviation of a rectangle.
  const seenToDiffer = facts.hysteresis?.found
    ? new Set(template.components.filter((c) => c.origin === 'hysteresis').map((c) => c.id))
    : new Set<string>()
  const inResiduals = firstSources.map((source) => {
    const size = seenToDiffer.has(source.component) ? HALF_WIDTH_DIVISOR.rectangular : 1
    return pointEffectsMk(source, pairs).map((mk) => size * mk)
  })
  const expectedOf = (a: readonly number[], b: readonly number[]) =>
    firstSources.reduce(
      (sum, source, q) => sum + combinedCovariance(a, b, inResiduals[q]!, source.correlation, celsius),
      0,
    )
  const expectedSquares = inBath.reduce((sum, i) => sum + expectedOf(residualRows[i]!, residualRows[i]!), 0)
  const sharedIds = new Set(template.components.filter((c) => SHARED.includes(c.origin)).map((c) => c.id))
  const places = template.components.filter((c) => c.origin === 'bath-uniformity').map((c) => c.id)
  const mayBeShared = new Set([...sharedIds, ...places])
  const residuals = pairs.map(
    (p, i) => (prepared.toTemperature(p.underTest.signal).value - celsius[i]!) * 1e3,
  )
  const foundSquares = inBath.reduce((sum, i) => sum + residuals[i]! ** 2, 0)
  const freedom = fit.degreesOfFreedom
  const scatter = residualScatter(
    residuals,
    residualRows,
    firstSources.map((source, q) =>
      expectedSource(source, inResiduals[q]!, celsius, mayBeShared.has(source.component)),
    ),
    pairs.map((p) => !p.cell),
  )
  const beyond = scatter.freedom > 0 && scatter.chiSquared > scatterLimit(scatter, BEYOND)
  const excess = beyond ? { mk: scatter.beyondMk, degreesOfFreedom: scatter.freedom } : null
  const sources = excess ? errorSources(template, pairs, { ...facts, excess }) : firstSources
  const effects = sources.map((source) => pointEffectsMk(source, pairs))

  const partsThrough = (weights: readonly number[]) =>
    sources.map((source, q) => {
      const effect = effects[q]!
      const u = Math.sqrt(combinedVariance(weights, effect, source.correlation, celsius))
      const own = source.degreesOfFreedom
      const isOne = own.every((d) => d === own[0])
      const byPoint = weights.map((w, i) => ({ u: Math.abs(w * effect[i]!), degreesOfFreedom: own[i]! }))
      // One size for all points is one estimate, however many errors are drawn from it.
      const degreesOfFreedom = isOne ? (own[0] ?? Number.POSITIVE_INFINITY) : freedomOf(byPoint)
      const { component, distribution, estimate } = source
      const shared = source.shared ?? sharedIds.has(component)
      return {
        component,
        distribution,
        u,
        degreesOfFreedom,
        source: source.source,
        shared,
        ...(estimate !== undefined && { estimate }),
      }
    })
  const perPoint = (name: string) =>
    moved.map(
      ({ up, down }) => ((up.parameters[name] ?? 0) - (down.parameters[name] ?? 0)) / (2 * STEP_K * 1e3),
    )
  const curveParts = (t: number) =>
    template.components
      .filter((c) => actsOnCurve(c, freedom))
      .map((c) => ({
        component: c.id,
        u: fixedMk(c, t),
        degreesOfFreedom: c.degreesOfFreedom ?? Number.POSITIVE_INFINITY,
      }))
  return {
    fit,
    prepared,
    model,
    pairs,
    sources,
    scatter,
    excess,
    expectedResidualMk: Math.sqrt(expectedSquares / Math.max(1, freedom)),
    expectedResidual(index) {
      const parts = partsThrough(residualRows[index]!)
      const of = (isShared: boolean) =>
        Math.hypot(
          ...parts
            .filter((p) => p.shared === isShared)
            .map((p) => p.u * (seenToDiffer.has(p.component) ? HALF_WIDTH_DIVISOR.rectangular : 1)),
        )
      return { sharedMk: of(true), ownMk: of(false) }
    },
    residualMk: freedom > 0 ? Math.sqrt(foundSquares / freedom) : Number.NaN,
    sensitivities,
    atPoint(index) {
      const weights = pairs.map((_, i) => (i === index ? 1 : 0))
      return combine(linesOf(template, partsThrough(weights)), coverage)
    },
    atTemperature(t) {
      return combine(linesOf(template, [...partsThrough(sensitivities(t)), ...curveParts(t)]), coverage)
    },
    ofCoefficient(name) {
      if (parameters[name] === undefined) return combine([], coverage)
      return combine(linesOf(template, partsThrough(perPoint(name))), coverage)
    },
    covariance(names) {
      const weights = names.map(perPoint)
      return weights.map((a) =>
        weights.map((b) =>
          sources.reduce(
            (sum, source, q) => sum + combinedCovariance(a, b, effects[q]!, source.correlation, celsius),
            0,
          ),
        ),
      )
    },
  }
}
