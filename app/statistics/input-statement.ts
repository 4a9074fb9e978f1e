import { z } from 'zod'
import { needed } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import type { BudgetInput } from './budget.ts'
import { coverageFactor } from './coverage.ts'
import type { Distribution } from './distributions.ts'
import { StatisticsError } from './errors.ts'
import { NumberOrText } from './request.ts'
import { describeWindow } from './window.ts'

/** Names that people give the distributions, and the one used here. */
export const DISTRIBUTION_NAMES = {
  normal: 'normal',
  gaussian: 'normal',
  t: 't',
  student: 't',
  'student-t': 't',
  rectangular: 'rectangular',
  uniform: 'rectangular',
  triangular: 'triangular',
  trapezoidal: 'trapezoidal',
  trapezoid: 'trapezoidal',
  arcsine: 'arcsine',
  'u-shaped': 'arcsine',
  'curvilinear-trapezoidal': 'curvilinear-trapezoidal',
  'curvilinear-trapezoid': 'curvilinear-trapezoidal',
  exponential: 'exponential',
  constant: 'constant',
} as const satisfies Record<string, Distribution['kind']>

const DistributionName = z
  .string()
  .transform((name) =>
    name
      .trim()
      .toLowerCase()
      .replaceAll(/[\s_]+/g, '-'),
  )
  .refine((name): name is keyof typeof DISTRIBUTION_NAMES => Object.hasOwn(DISTRIBUTION_NAMES, name), {
    error: `distribution is one of ${Object.keys(DISTRIBUTION_NAMES).join(', ')}`,
  })

/** Infinite where it is null, left out, or said in words. */
const DegreesOfFreedom = z.union([NumberOrText, z.null(), z.enum(['infinity', 'Infinity', 'inf', '∞'])], {
  error: 'degreesOfFreedom is a number, or null for infinitely many',
})

export const InputStatement = z.object({
  name: z.string().trim().min(1),
  value: NumberOrText.optional(),
  distribution: DistributionName.optional(),
  standardUncertainty: NumberOrText.optional(),
  halfWidth: NumberOrText.optional(),
  /** Limits, in place of value and halfWidth. */
  lower: NumberOrText.optional(),
  upper: NumberOrText.optional(),
  /** Expanded uncertainty with its k, or with its coverage probability (and degrees of freedom). */
  expanded: NumberOrText.optional(),
  k: NumberOrText.optional(),
  coverage: NumberOrText.optional(),
  degreesOfFreedom: DegreesOfFreedom.optional(),
  /** Trapezoidal: width of the top divided by that of the base. */
  ratio: NumberOrText.optional(),
  /** Curvilinear trapezoidal: half-width of the limits' own uncertainty. */
  limits: NumberOrText.optional(),
  /** Repeated observations: their mean, its standard uncertainty and degrees of freedom follow. */
  observations: z.array(NumberOrText).min(2).optional(),
})
export type InputStatement = z.infer<typeof InputStatement>

/**
 * An input of a budget from what is stated about it.
 *
 * Where no distribution is named: observations and finite degrees of freedom mean a t, a half-width or limits a
 * rectangular one, anything else with an uncertainty a normal one, and no uncertainty at all a constant.
 *
 * Symbols  statement, see InputStatement
 * Source   JCGM 100:2008, 4.2 and 4.3; JCGM 101:2008, 6.4 and table 1
 * Valid    one way of stating the uncertainty
 * Throws   StatisticsError 'out-of-range'
 */
export function inputOf(statement: InputStatement): BudgetInput {
  const { name, observations } = statement
  if (observations !== undefined) return observed(statement, observations)
  const ways = (['standardUncertainty', 'halfWidth', 'expanded', 'upper'] as const).filter(
    (way) => statement[way] !== undefined,
  )
  if (ways.length > 1) throw refusal(name, `state the uncertainty in one way, not by ${ways.join(' and ')}`)
  const dof = degreesOfFreedomOf(statement)
  const finite = Number.isFinite(dof) ? { degreesOfFreedom: dof } : {}
  const kind = statement.distribution === undefined ? undefined : DISTRIBUTION_NAMES[statement.distribution]
  if (ways[0] === 'upper') {
    const { value, halfWidth } = limitsOf(statement)
    return {
      name,
      value,
      distribution: fromHalfWidth(statement, kind ?? 'rectangular', halfWidth),
      ...finite,
    }
  }
  if (statement.value === undefined) throw refusal(name, 'value is missing')
  const { value } = statement
  if (ways[0] === 'halfWidth') {
    return {
      name,
      value,
      distribution: fromHalfWidth(
        statement,
        kind ?? 'rectangular',
        needed(statement.halfWidth, 'half width'),
      ),
      ...finite,
    }
  }
  if (kind === 'exponential' && ways.length === 0) {
    return { name, value, distribution: { kind, mean: value }, ...finite }
  }
  if (ways.length === 0) {
    if (kind === undefined || kind === 'constant') return { name, value, distribution: { kind: 'constant' } }
    throw refusal(
      name,
      'its uncertainty is missing: standardUncertainty, halfWidth, expanded with k, or lower and upper',
    )
  }
  const u =
    ways[0] === 'expanded'
      ? fromExpanded(statement, needed(statement.expanded, 'expanded uncertainty'), dof)
      : needed(statement.standardUncertainty, 'standard uncertainty')
  return {
    name,
    value,
    distribution: fromStandardUncertainty(statement, kind ?? (Number.isFinite(dof) ? 't' : 'normal'), u, dof),
    ...finite,
  }
}

function refusal(name: string, words: string): StatisticsError {
  return new StatisticsError('out-of-range', said('input-wrong', { name, words }), { name })
}

function degreesOfFreedomOf({ degreesOfFreedom }: InputStatement): number {
  return typeof degreesOfFreedom === 'number' ? degreesOfFreedom : Number.POSITIVE_INFINITY
}

function observed(statement: InputStatement, observations: readonly number[]): BudgetInput {
  const { n, mean, sd } = describeWindow(observations, 1, { decimal: true })
  const scale = sd / Math.sqrt(n)
  const normal =
    statement.distribution !== undefined && DISTRIBUTION_NAMES[statement.distribution] === 'normal'
  return {
    name: statement.name,
    value: mean,
    distribution: normal ? { kind: 'normal', sd: scale } : { kind: 't', scale, degreesOfFreedom: n - 1 },
    degreesOfFreedom: n - 1,
  }
}

function limitsOf({ name, lower, upper, value }: InputStatement): { value: number; halfWidth: number } {
  if (lower === undefined || upper === undefined || !(lower <= upper)) {
    throw refusal(name, 'lower and upper are needed together, lower first')
  }
  const middle = lower + (upper - lower) / 2
  const halfWidth = (upper - lower) / 2
  if (value !== undefined && Math.abs(value - middle) > 1e-9 * Math.max(halfWidth, Math.abs(middle))) {
    throw refusal(name, `its value ${value} is not the middle of ${lower} and ${upper}; give a halfWidth`)
  }
  return { value: middle, halfWidth }
}

function fromExpanded({ name, k, coverage }: InputStatement, expanded: number, dof: number): number {
  if (k !== undefined) {
    if (!(k > 0)) throw refusal(name, 'k must be above 0')
    return expanded / k
  }
  if (coverage === undefined) throw refusal(name, 'an expanded uncertainty needs its k, or its coverage')
  return expanded / coverageFactor(coverage, dof)
}

function fromHalfWidth(
  statement: InputStatement,
  kind: Distribution['kind'],
  halfWidth: number,
): Distribution {
  switch (kind) {
    case 'rectangular':
    case 'triangular':
    case 'arcsine':
      return { kind, halfWidth }
    case 'trapezoidal':
      return { kind, halfWidth, ratio: ratioOf(statement) }
    case 'curvilinear-trapezoidal':
      if (statement.limits === undefined) throw refusal(statement.name, 'limits is missing')
      return { kind, halfWidth, limits: statement.limits }
    default:
      throw refusal(
        statement.name,
        `a distribution of kind ${kind} has no half-width; give its standardUncertainty`,
      )
  }
}

function ratioOf({ name, ratio }: InputStatement): number {
  if (ratio === undefined) throw refusal(name, 'a trapezoidal distribution needs its ratio, top over base')
  return ratio
}

function fromStandardUncertainty(
  statement: InputStatement,
  kind: Distribution['kind'],
  u: number,
  dof: number,
): Distribution {
  switch (kind) {
    case 'constant':
      throw refusal(statement.name, 'a constant has no uncertainty')
    case 'normal':
      return { kind, sd: u }
    case 't':
      if (!Number.isFinite(dof)) return { kind: 'normal', sd: u }
      return { kind, scale: u, degreesOfFreedom: dof }
    case 'rectangular':
      return { kind, halfWidth: u * Math.sqrt(3) }
    case 'triangular':
      return { kind, halfWidth: u * Math.sqrt(6) }
    case 'arcsine':
      return { kind, halfWidth: u * Math.SQRT2 }
    case 'trapezoidal': {
      const ratio = ratioOf(statement)
      return { kind, halfWidth: u * Math.sqrt(6 / (1 + ratio * ratio)), ratio }
    }
    case 'curvilinear-trapezoidal': {
      if (statement.limits === undefined) throw refusal(statement.name, 'limits is missing')
      const halfWidth = Math.sqrt(3 * (u * u - statement.limits ** 2 / 9))
      if (!(halfWidth >= 0)) throw refusal(statement.name, 'limits is too large for its standardUncertainty')
      return { kind, halfWidth, limits: statement.limits }
    }
    case 'exponential':
      return { kind, mean: u }
  }
}
