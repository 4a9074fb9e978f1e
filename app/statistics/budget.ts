import { at, zip } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { type Correlation, choleskyOf, correlatedGroups, correlationMatrix } from './correlation.ts'
import { coverageFactor, exactCoverage, truncatedDegreesOfFreedom } from './coverage.ts'
import { type Distribution, requireSound, standardUncertaintyOf } from './distributions.ts'
import { StatisticsError } from './errors.ts'
import type { Model } from './model.ts'

export interface BudgetInput {
  readonly name: string
  readonly value: number
  readonly distribution: Distribution
  /** Of the standard uncertainty; infinite unless told. */
  readonly degreesOfFreedom?: number
}

export interface Budget {
  readonly inputs: readonly BudgetInput[]
  readonly correlations?: readonly Correlation[]
  readonly model: Model
  /** Coverage probability; 0.95 unless told. 0.9545 stands for exactly two standard deviations. */
  readonly coverage?: number
  /** A coverage factor that is agreed beforehand, in place of the coverage probability. */
  readonly k?: number
}

export interface BudgetResult {
  readonly value: number
  /** ∂f/∂x_i, in the order of the inputs. */
  readonly sensitivities: readonly number[]
  readonly standardUncertainties: readonly number[]
  /** |c_i| u(x_i), in the unit of the value. */
  readonly contributions: readonly number[]
  readonly combined: number
  /** As the formula gives it; Infinity where no input has finite degrees of freedom. */
  readonly effectiveDegreesOfFreedom: number
  /** As the t table was entered: truncated to a whole number. */
  readonly degreesOfFreedomUsed: number
  readonly k: number
  readonly coverage: number
  readonly U: number
  readonly interval: readonly [number, number]
  /** With the terms of next higher order; absent with correlated inputs or where a derivative has no rule. */
  readonly higherOrder?: {
    readonly combined: number
    readonly U: number
    readonly interval: readonly [number, number]
  }
  readonly notes: readonly string[]
}

/**
 * Uncertainty budget by the law of propagation of uncertainty.
 *
 *   u_c² = Σ c_i² u_i² + 2 Σ Σ c_i c_j u_i u_j r_ij;  ν_eff = u_c⁴ / Σ (c_i u_i)⁴/ν_i;  U = t_p(ν_eff) u_c
 *   higher order: + Σ Σ [½ (∂²f/∂x_i∂x_j)² + ∂f/∂x_i ∂³f/∂x_i∂x_j²] u_i² u_j²
 *
 * Inputs correlated with one another and of finite ν enter the formula for ν_eff as one contribution with the
 * smallest of their ν, which is exact where they were observed together.
 *
 * Symbols  f model, x_i estimates, u_i standard uncertainties, c_i = ∂f/∂x_i, r_ij correlation coefficients,
 *          ν_i degrees of freedom, p coverage probability
 * Source   JCGM 100:2008, 5.1.2 equation (10) and its note, 5.2.2 equation (16), G.4.1 equation (G.2b), table G.2
 * Valid    model differentiable at the estimates; the interval supposes that y is nearly normal or t
 * Throws   StatisticsError 'duplicate-name' | 'unknown-name' | 'out-of-range' | 'not-positive-definite' |
 *          'model-undefined'
 */
export function evaluateBudget(budget: Budget): BudgetResult {
  const { inputs, model } = budget
  const names = inputs.map(({ name }) => name)
  requireInputs(inputs)
  const matrix = correlationMatrix(names, budget.correlations ?? [])
  choleskyOf(matrix, names)
  const x = inputs.map(({ value }) => value)
  const u = inputs.map(({ distribution }) => standardUncertaintyOf(distribution))
  const value = model.value(x)
  if (!Number.isFinite(value)) {
    throw new StatisticsError('model-undefined', said('model-not-finite-at-estimates', { value }), { value })
  }
  const notes: string[] = []
  const c = sensitivitiesOf(model, names, x, u, notes)
  const groups = correlatedGroups(matrix)
  const combined = Math.sqrt(Math.max(0, variance(c, u, matrix)))
  const effectiveDegreesOfFreedom = welchSatterthwaite(
    combined,
    contributionsOf(budget, c, u, matrix, groups, notes),
  )
  const coverage = exactCoverage(budget.coverage ?? 0.95)
  const k = budget.k ?? coverageFactor(budget.coverage ?? 0.95, effectiveDegreesOfFreedom)
  const U = k * combined
  const higher = groups.length === 0 ? higherOrder(model, x, u, combined) : undefined
  return {
    value,
    sensitivities: c,
    standardUncertainties: u,
    contributions: zip(c, u).map(([ci, ui]) => Math.abs(ci) * ui),
    combined,
    effectiveDegreesOfFreedom,
    degreesOfFreedomUsed: truncatedDegreesOfFreedom(effectiveDegreesOfFreedom),
    k,
    coverage,
    U,
    interval: [value - U, value + U],
    ...(higher !== undefined && {
      higherOrder: {
        combined: higher,
        U: k * higher,
        interval: [value - k * higher, value + k * higher] as const,
      },
    }),
    notes,
  }
}

/**
 * Refuses inputs that no budget can use: a name twice, a value that is not finite, parameters that mean nothing.
 *
 * Symbols  inputs, see BudgetInput
 * Source   none (checks of the arguments)
 * Valid    any
 * Throws   StatisticsError 'duplicate-name' | 'out-of-range'
 */
export function requireInputs(inputs: readonly BudgetInput[]): void {
  const names = new Set<string>()
  for (const { name, value, distribution, degreesOfFreedom = Number.POSITIVE_INFINITY } of inputs) {
    if (names.has(name))
      throw new StatisticsError('duplicate-name', said('input-named-twice', { name }), { name })
    names.add(name)
    if (!Number.isFinite(value)) {
      throw new StatisticsError('out-of-range', said('input-not-finite', { name }), {
        name,
        value,
      })
    }
    if (!(degreesOfFreedom > 0)) {
      throw new StatisticsError(
        'out-of-range',
        said('input-degrees-of-freedom-not-positive', { name, degreesOfFreedom }),
        { name, degreesOfFreedom },
      )
    }
    requireSound(name, distribution)
  }
}

/** By rule where there is one, checked against differences; by differences alone elsewhere. */
function sensitivitiesOf(
  model: Model,
  names: readonly string[],
  x: readonly number[],
  u: readonly number[],
  notes: string[],
): number[] {
  const exact = model.sensitivities?.(x)
  const inputs = zip(names, u).map(([name, own], i) => ({
    name,
    own,
    byRule: exact?.[i],
    byDifference: numericalSensitivity(model, x, i, own),
  }))
  const largest = Math.hypot(...inputs.map(({ own, byDifference }) => (own === 0 ? 0 : byDifference * own)))
  return inputs.map(({ name, own, byRule, byDifference }, i) => {
    if (byRule === undefined || !Number.isFinite(byRule)) {
      if (!Number.isFinite(byDifference)) {
        throw new StatisticsError('not-differentiable', said('model-without-derivative', { name }), {
          name,
        })
      }
      if (exact !== undefined)
        notes.push(`The sensitivity to ${name} was found by differences: its rule has no value here.`)
      return byDifference
    }
    if (own === 0) return byRule
    const scale = Math.max(Math.abs(byRule) * own, largest)
    if (Math.abs(byRule - byDifference) * own > 1e-3 * scale) {
      notes.push(
        `The sensitivity to ${name} is ${byRule.toPrecision(6)} by rule and ${byDifference.toPrecision(6)} by ` +
          'differences: the model is not smooth over the uncertainty of this input.',
      )
    } else if (Math.abs(byRule - plainDifference(model, x, i, own)) * own > 0.01 * scale) {
      notes.push(`The model is not straight in ${name} over its uncertainty; see the Monte Carlo.`)
    }
    return byRule
  })
}

/** [f(x + u) − f(x − u)]/2u, JCGM 100:2008, 5.1.3 note 2. */
function plainDifference(model: Model, x: readonly number[], i: number, u: number): number {
  const moved = (step: number) => model.value(x.map((value, k) => (k === i ? value + step : value)))
  const difference = (moved(u) - moved(-u)) / (2 * u)
  return Number.isFinite(difference) ? difference : Number.POSITIVE_INFINITY
}

/**
 * Derivative of a model with respect to one input from central differences, extrapolated to a step of zero.
 *
 * Symbols  model f; x estimates; i place of the input; u its standard uncertainty, which sets the first step
 * Source   JCGM 100:2008, 5.1.3 note 2 (differences of ±u); L. F. Richardson, Phil. Trans. R. Soc. A 210 (1911) 307
 *          (extrapolation; from memory)
 * Valid    f smooth within ±u of the estimates
 * Throws   nothing; not finite where f is not
 */
export function numericalSensitivity(model: Model, x: readonly number[], i: number, u: number): number {
  const estimate = at(x, i)
  const moved = [...x]
  const differenceAt = (step: number) => {
    const high = estimate + step
    const low = estimate - step
    moved[i] = high
    const above = model.value(moved)
    moved[i] = low
    const below = model.value(moved)
    return (above - below) / (high - low)
  }
  const step = u > 0 ? Math.max(u / 4, 1e-5 * Math.abs(estimate)) : 1e-3 * (Math.abs(estimate) || 1)
  const coarse = differenceAt(step)
  const middle = differenceAt(step / 2)
  const fine = differenceAt(step / 4)
  const once = (4 * middle - coarse) / 3
  const twice = (4 * fine - middle) / 3
  return (16 * twice - once) / 15
}

function variance(
  c: readonly number[],
  u: readonly number[],
  matrix: readonly (readonly number[])[],
): number {
  let sum = 0
  for (const [i, row] of matrix.entries()) {
    for (const [j, r] of row.entries()) sum += c[i]! * c[j]! * u[i]! * u[j]! * r
  }
  return sum
}

export interface Contribution {
  /** Standard uncertainty of the result that comes from here. */
  readonly u: number
  readonly degreesOfFreedom: number
}

function contributionsOf(
  { inputs }: Budget,
  c: readonly number[],
  u: readonly number[],
  matrix: readonly (readonly number[])[],
  groups: readonly (readonly number[])[],
  notes: string[],
): Contribution[] {
  const dofOf = (i: number) => at(inputs, i).degreesOfFreedom ?? Number.POSITIVE_INFINITY
  const grouped = new Set(groups.flat())
  const singles = zip(c, u).flatMap(([ci, ui], i) =>
    grouped.has(i) ? [] : [{ u: Math.abs(ci * ui), degreesOfFreedom: dofOf(i) }],
  )
  const together = groups.map((group) => {
    const degreesOfFreedom = Math.min(...group.map(dofOf))
    if (Number.isFinite(degreesOfFreedom)) {
      const words = group.map((i) => at(inputs, i).name).join(', ')
      notes.push(
        `The correlated inputs ${words} entered the effective degrees of freedom as one, with ${degreesOfFreedom}.`,
      )
    }
    const pick = (list: readonly number[]) => group.map((i) => at(list, i))
    const part = variance(
      pick(c),
      pick(u),
      group.map((i) => pick(at(matrix, i))),
    )
    return { u: Math.sqrt(Math.max(0, part)), degreesOfFreedom }
  })
  return [...singles, ...together]
}

/**
 * Effective degrees of freedom of a combined standard uncertainty.
 *
 *   ν_eff = u_c⁴ / Σ u_i⁴/ν_i
 *
 * Symbols  u_c combined standard uncertainty; u_i contributions to it, |c_i| u(x_i); ν_i their degrees of freedom
 * Source   JCGM 100:2008, G.4.1 equation (G.2b)
 * Valid    independent contributions; Infinity where every ν_i is, or u_c is 0
 * Throws   nothing
 */
export function welchSatterthwaite(combined: number, contributions: readonly Contribution[]): number {
  let sum = 0
  for (const { u, degreesOfFreedom } of contributions) {
    if (Number.isFinite(degreesOfFreedom) && combined > 0) sum += (u / combined) ** 4 / degreesOfFreedom
  }
  return sum > 0 ? 1 / sum : Number.POSITIVE_INFINITY
}

/**
 * Correlation coefficient of two results that share inputs.
 *
 *   u(y, z) = Σ Σ c_i d_j u_i u_j r_ij,  r = u(y, z)/(u(y) u(z))
 *
 * Symbols  c, d sensitivities of y and of z to the same inputs; u_i standard uncertainties; r_ij correlations
 * Source   JCGM 100:2008, H.2.3 equation (H.9) (number from memory)
 * Valid    both results of the same list of inputs; NaN where one of them has no uncertainty
 * Throws   as correlationMatrix
 */
export function correlationOfResults(
  inputs: readonly BudgetInput[],
  correlations: readonly Correlation[],
  y: BudgetResult,
  z: BudgetResult,
): number {
  const matrix = correlationMatrix(
    inputs.map(({ name }) => name),
    correlations,
  )
  let sum = 0
  for (const [[c, uy], row] of zip(zip(y.sensitivities, y.standardUncertainties), matrix)) {
    for (const [[d, uz], r] of zip(zip(z.sensitivities, z.standardUncertainties), row))
      sum += c * d * uy * uz * r
  }
  return sum / (y.combined * z.combined)
}

function higherOrder(
  model: Model,
  x: readonly number[],
  u: readonly number[],
  combined: number,
): number | undefined {
  const first = model.sensitivities?.(x)
  const derivatives = model.higher?.(x)
  if (first === undefined || derivatives === undefined) return undefined
  let sum = combined * combined
  for (const [i, [ui, slope]] of zip(u, first).entries()) {
    const rows = zip(at(derivatives.second, i), at(derivatives.third, i))
    for (const [uj, [second, third]] of zip(u, rows)) {
      const products = (ui * uj) ** 2
      if (products === 0) continue
      if (slope === undefined) return undefined
      sum += (0.5 * second ** 2 + slope * third) * products
    }
  }
  return sum >= 0 && Number.isFinite(sum) ? Math.sqrt(sum) : undefined
}
