import type { BudgetTemplate, PointCorrelation, TemplateComponent } from './uncertainty-template.ts'
import { HALF_WIDTH_DIVISOR } from './uncertainty-template.ts'

/** What the uncertainty of one pair (reference, thermometer under test) at one point is worked out from. */
export interface PairPoint {
  readonly point: string
  /** Realised by a water triple point cell: neither reference, bath nor immersion act on it. */
  readonly cell: boolean
  /** Temperature by the reference at the time of the thermometer under test, degC. */
  readonly referenceC: number
  /** R/(dR/dt): mK for a relative change of one in the signal. */
  readonly referenceMkPerRelative: number
  readonly underTestMkPerRelative: number
  /** Ratios as the bridge showed them; null where the instrument does not measure a ratio. */
  readonly referenceRatio: number | null
  readonly underTestRatio: number | null
  /** Repeatability: standard uncertainty of the mean, mK, and its degrees of freedom. */
  readonly referenceNoiseMk: number
  readonly referenceNoiseDof: number
  readonly underTestNoiseMk: number
  readonly underTestNoiseDof: number
  /** Standard uncertainty of the self-heating correction, mK. */
  readonly referenceSelfHeatingMk: number
  readonly underTestSelfHeatingMk: number
}

/** What holds for the whole comparison. */
export interface PairFacts {
  readonly bridge: {
    readonly linearityRatio: number
    readonly resolutionRatio: number
    /** Where the linearity comes from; null: as the template says. */
    readonly linearitySource?: string | null
  } | null
  /** Null where the channel has no reference resistor of its own. Relative standard uncertainties. */
  readonly referenceResistor: ResistorFacts | null
  readonly underTestResistor: ResistorFacts | null
  readonly sameResistor: boolean
  /** The reference's R(WTP) comes from this session, over the same resistor: its error cancels in W. */
  readonly referenceRatioFromSession: boolean
  /** Standard uncertainty of the reference's calibration, mK. */
  referenceCalibrationMk(celsius: number): number
  /**
   * Where the certificate states the covariance of its coefficients: what one standard uncertainty of each independent
   * combination of them does at a temperature, mK. Empty where it does not.
   */
  referenceCalibrationModesMk(celsius: number): readonly number[]
  /** Relative standard uncertainty of the reference's R(WTP). */
  readonly referenceWtpRelative: number
  /** Relative change of the reference's resistance per mK at the water triple point, for its drift. */
  readonly referenceRelativePerMkAtWtp: number
  readonly yearsSinceReference: number
  readonly bathUniformityMk: number
  readonly bathStabilityMk: number
  /**
   * Standard uncertainty of the temperature of the reference junction of a thermocouple under test, mK, where the bench
   * states it; it is taken to act in full, though a thermocouple is often less sensitive at its junction. Null: not stated.
   */
  readonly underTestJunctionMk: number | null
  /** Half the largest difference of visits of one temperature, mK; null where none was visited twice. */
  readonly hysteresisMk: number | null
  readonly spanK: number
  /** Scatter of the residuals beyond what the rest explains, mK, and its degrees of freedom. */
  readonly excess: { readonly mk: number; readonly degreesOfFreedom: number } | null
}

export interface ResistorFacts {
  readonly calibration: number
  readonly drift: number
  readonly temperature: number
}

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
}

/** Linear between the temperatures named, the nearest beyond them. */
export function betweenTemperatures<K extends string>(
  values: readonly ({ readonly celsius: number } & Readonly<Record<K, number>>)[],
  key: K,
  celsius: number,
): number {
  const sorted = values.toSorted((a, b) => a.celsius - b.celsius)
  const first = sorted[0]!
  const last = sorted.at(-1)!
  if (celsius <= first.celsius) return first[key]
  if (celsius >= last.celsius) return last[key]
  const i = sorted.findIndex((v) => v.celsius >= celsius)
  const a = sorted[i - 1]!
  const b = sorted[i]!
  const part = (celsius - a.celsius) / (b.celsius - a.celsius)
  return a[key] + part * (b[key] - a[key])
}

/** Standard uncertainty of a `fixed` component at a temperature, mK. */
export function fixedMk(component: TemplateComponent, celsius: number): number {
  const size = betweenTemperatures(component.values!, 'mk', celsius)
  const { distribution } = component
  return distribution === 'normal' || distribution === 't' ? size : size / HALF_WIDTH_DIVISOR[distribution]
}

type Acts = Partial<
  Pick<ErrorSource, 'referenceRelative' | 'underTestRelative' | 'temperatureMk' | 'correlation'>
> & {
  readonly degreesOfFreedom?: readonly number[]
  readonly source?: string
}

/**
 * The calibration of the reference. Its coefficients' covariance, where it is stated, tells how errors at different
 * temperatures hang together; only what the certificate states beyond it is correlated as the template says.
 */
function calibrationActs(points: readonly PairPoint[], facts: PairFacts): Acts[] {
  const modes = points.map((p) => (p.cell ? [] : facts.referenceCalibrationModesMk(p.referenceC)))
  const count = Math.max(0, ...modes.map((m) => m.length))
  const rest = points.map((p, i) => {
    if (p.cell) return 0
    const stated = facts.referenceCalibrationMk(p.referenceC)
    const explained = Math.hypot(...modes[i]!)
    // The figures of a certificate are rounded: a hundredth of a part is no component of its own.
    return stated * stated > explained * explained * ROUNDED ? Math.sqrt(stated ** 2 - explained ** 2) : 0
  })
  return [
    ...Array.from(
      { length: count },
      (_, k): Acts => ({
        temperatureMk: modes.map((m) => m[k] ?? 0),
        correlation: { kind: 'common' },
      }),
    ),
    { temperatureMk: rest },
  ]
}

/** Square of the ratio below which a stated uncertainty counts as that of the coefficients, rounded. */
const ROUNDED = 1.02

const JUNCTION_SOURCE = 'bench: uncertainty of the reference junction of the channel'

const linearityActs = (
  acts: readonly Acts[],
  { linearitySource }: NonNullable<PairFacts['bridge']>,
): Acts[] => acts.map((act) => (linearitySource ? { ...act, source: linearitySource } : act))

function actsOf(component: TemplateComponent, points: readonly PairPoint[], facts: PairFacts): Acts[] {
  const figure = component.figure ?? 0
  const temperature = (size: (p: PairPoint) => number): Acts[] => [
    { temperatureMk: points.map((p) => (p.cell ? 0 : size(p))) },
  ]
  const resistor = (size: (r: ResistorFacts) => number): Acts[] => {
    const ofReference =
      facts.referenceRatioFromSession || !facts.referenceResistor ? 0 : size(facts.referenceResistor)
    const ofTest = facts.underTestResistor ? size(facts.underTestResistor) : 0
    const reference = points.map(() => ofReference)
    const underTest = points.map(() => ofTest)
    return facts.sameResistor
      ? [{ referenceRelative: reference, underTestRelative: underTest }]
      : [{ referenceRelative: reference }, { underTestRelative: underTest }]
  }
  const ratio = (size: number): Acts[] => [
    { referenceRelative: points.map((p) => (p.referenceRatio ? size / p.referenceRatio : 0)) },
    { underTestRelative: points.map((p) => (p.underTestRatio ? size / p.underTestRatio : 0)) },
  ]
  switch (component.origin) {
    case 'noise-reference':
      return [
        {
          temperatureMk: points.map((p) => p.referenceNoiseMk),
          degreesOfFreedom: points.map((p) => p.referenceNoiseDof),
        },
      ]
    case 'noise-under-test':
      return [
        {
          temperatureMk: points.map((p) => p.underTestNoiseMk),
          degreesOfFreedom: points.map((p) => p.underTestNoiseDof),
        },
      ]
    case 'bridge-linearity':
      return facts.bridge ? linearityActs(ratio(facts.bridge.linearityRatio), facts.bridge) : []
    case 'bridge-resolution':
      return facts.bridge ? ratio(facts.bridge.resolutionRatio) : []
    case 'resistor-calibration':
      return resistor((r) => r.calibration)
    case 'resistor-drift':
      return resistor((r) => r.drift)
    case 'resistor-temperature':
      return resistor((r) => r.temperature)
    case 'reference-calibration':
      return calibrationActs(points, facts)
    case 'reference-wtp':
      return [{ referenceRelative: points.map(() => facts.referenceWtpRelative) }]
    case 'reference-drift': {
      const mk = (figure * facts.yearsSinceReference) / HALF_WIDTH_DIVISOR.rectangular
      return [{ referenceRelative: points.map(() => mk * facts.referenceRelativePerMkAtWtp) }]
    }
    case 'self-heating-reference':
      return temperature((p) => p.referenceSelfHeatingMk)
    case 'self-heating-under-test':
      return [{ temperatureMk: points.map((p) => p.underTestSelfHeatingMk) }]
    case 'bath-uniformity':
      return temperature(() => facts.bathUniformityMk)
    case 'bath-stability':
      return temperature(() => facts.bathStabilityMk)
    case 'cell':
      return [{ temperatureMk: points.map((p) => (p.cell ? fixedMk(component, p.referenceC) : 0)) }]
    case 'hysteresis': {
      const half = facts.hysteresisMk ?? (figure * facts.spanK * 1000) / 2
      return temperature(() => half / HALF_WIDTH_DIVISOR.rectangular)
    }
    case 'repeatability': {
      const { excess } = facts
      if (!excess) return temperature(() => 0)
      return [
        {
          temperatureMk: points.map((p) => (p.cell ? 0 : excess.mk)),
          degreesOfFreedom: points.map(() => excess.degreesOfFreedom),
        },
      ]
    }
    case 'reference-junction': {
      const stated = facts.underTestJunctionMk
      if (stated === null) return temperature((p) => fixedMk(component, p.referenceC))
      return temperature(() => stated).map((act) => ({ ...act, source: JUNCTION_SOURCE }))
    }
    case 'fixed':
      return temperature((p) => fixedMk(component, p.referenceC))
  }
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
        distribution: component.distribution,
        correlation: acts.correlation ?? component.correlation,
        referenceRelative: acts.referenceRelative ?? zero,
        underTestRelative: acts.underTestRelative ?? zero,
        temperatureMk: acts.temperatureMk ?? zero,
        degreesOfFreedom:
          acts.degreesOfFreedom ?? points.map(() => component.degreesOfFreedom ?? Number.POSITIVE_INFINITY),
      })),
    )
  return withCorrelations(sources, template)
}

/**
 * What one standard uncertainty of a source does to (reference temperature less temperature of the thermometer under
 * test) at each point, mK:
 *
 *   c = r_S R_S/(dR_S/dt) + t - r_X R_X/(dR_X/dt)
 *
 * A source common to both (their reference resistor) enters with both signs and largely cancels where the two
 * thermometers are alike.
 */
export function pointEffectsMk(source: ErrorSource, points: readonly PairPoint[]): number[] {
  return points.map(
    (p, i) =>
      source.referenceRelative[i]! * p.referenceMkPerRelative +
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
    const [a, b] = [left[i]! * effectsMk[i]!, right[i]! * effectsMk[i]!]
    sum += a * b
    for (let j = 0; j < i; j++) {
      const r = correlationBetween(correlation, i, j, celsius[i]! - celsius[j]!)
      if (r !== 0) sum += r * effectsMk[j]! * (a * right[j]! + b * left[j]!)
    }
  }
  return sum
}
