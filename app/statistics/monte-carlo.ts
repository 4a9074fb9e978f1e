import { at, first, zip } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import type { Budget, BudgetInput } from './budget.ts'
import { choleskyOf, correlatedGroups, correlationMatrix } from './correlation.ts'
import { exactCoverage } from './coverage.ts'
import { coverageIntervals, symmetricInterval } from './coverage-interval.ts'
import { atNormalDeviate, chiSquared, draw } from './distributions.ts'
import { StatisticsError } from './errors.ts'
import type { Model } from './model.ts'
import { type Random, seededRandom } from './random.ts'
import { plusProducts } from './vectors.ts'

export interface MonteCarloOptions {
  /** Trials; 1 000 000 unless told. */
  readonly trials?: number
  /** In place of a number of trials: go on until the results are stable to `digits` of the uncertainty. */
  readonly adaptive?: boolean
  /** Significant decimal digits of u(y) that count; 2 unless told. */
  readonly digits?: number
  /** Where an adaptive run gives up; 5 000 000 unless told. */
  readonly maximumTrials?: number
  readonly seed?: number
}

export interface MonteCarloResult {
  readonly value: number
  readonly standardUncertainty: number
  readonly symmetric: readonly [number, number]
  readonly shortest: readonly [number, number]
  readonly coverage: number
  readonly trials: number
  readonly seed: number
  /** Adaptive runs: the numerical tolerance, and whether every result became stable within it. */
  readonly tolerance?: number
  readonly stable?: boolean
}

const BLOCK = 2048
const LEAST_SEQUENCE = 10_000
const MOST_TRIALS = 20_000_000

/**
 * Propagation of distributions by Monte Carlo.
 *
 * Correlated normal inputs are drawn jointly, by the Cholesky triangle of their correlations; t inputs of one
 * ν that are correlated share their chi-squared; other correlated inputs are drawn through a normal copula.
 * An adaptive run takes sequences of M trials until twice the standard deviation of each average result (y,
 * u(y) and the ends of the symmetric interval) is below the tolerance.
 *
 * Symbols  as evaluateBudget; M trials in a sequence, h sequences; δ numerical tolerance
 * Source   JCGM 101:2008, 5.9, 6.4, 7.2 to 7.7 and 7.9 (adaptive)
 * Valid    up to 20 000 000 trials; the model finite in every trial
 * Throws   StatisticsError 'model-undefined' | 'out-of-range' | 'too-few-values' | 'not-positive-definite' |
 *          'unknown-name' | 'duplicate-name'
 */
export function propagateDistributions(
  budget: Pick<Budget, 'inputs' | 'correlations' | 'model' | 'coverage'>,
  options: MonteCarloOptions = {},
): MonteCarloResult {
  const coverage = exactCoverage(budget.coverage ?? 0.95)
  const seed = options.seed ?? 1
  if (!Number.isSafeInteger(seed)) {
    throw new StatisticsError('out-of-range', said('seed-impossible', { seed }), { seed })
  }
  const random = seededRandom(seed)
  const fill = trialsOf(budget, random)
  if (options.adaptive === true) return adaptive(fill, coverage, seed, options)
  const trials = options.trials ?? 1_000_000
  if (!(Number.isInteger(trials) && trials >= 2 && trials <= MOST_TRIALS)) {
    throw new StatisticsError('out-of-range', said('trials-out-of-range', { most: MOST_TRIALS, trials }), {
      trials,
    })
  }
  const values = new Float64Array(trials)
  fill(values)
  return { ...summary(values, coverage), coverage, trials, seed }
}

/** Mean and standard deviation, JCGM 101 7.6, with both intervals. */
function summary(values: Float64Array, coverage: number) {
  const { mean, squares } = momentsOf(values)
  return {
    value: mean,
    standardUncertainty: Math.sqrt(squares / (values.length - 1)),
    ...coverageIntervals(values, coverage),
  }
}

/** Deviations are taken from the first value, so that a large value with a small uncertainty keeps its digits. */
function momentsOf(values: Float64Array): { mean: number; squares: number } {
  const origin = first(values)
  let sum = 0
  for (let k = 0; k < values.length; k++) sum += values[k]! - origin
  const shift = sum / values.length
  let squares = 0
  for (let k = 0; k < values.length; k++) {
    const d = values[k]! - origin - shift
    squares += d * d
  }
  return { mean: origin + shift, squares }
}

/**
 * Numerical tolerance of a value of which a number of digits of its uncertainty count.
 *
 *   u = c × 10^l, c with that many digits;  δ = ½ 10^l
 *
 * Symbols  u standard uncertainty; digits significant decimal digits; δ tolerance
 * Source   JCGM 101:2008, 7.9.2
 * Valid    u ≥ 0, digits ≥ 1; 0 for u = 0
 * Throws   nothing
 */
export function numericalTolerance(u: number, digits: number): number {
  if (!(u > 0)) return 0
  const exponent = Number(u.toExponential(digits - 1).split('e')[1])
  return Number(`5e${exponent - digits}`)
}

function adaptive(
  fill: (out: Float64Array) => void,
  coverage: number,
  seed: number,
  options: MonteCarloOptions,
): MonteCarloResult {
  const digits = options.digits ?? 2
  const limit = options.maximumTrials ?? 5_000_000
  if (!(Number.isInteger(digits) && digits >= 1 && digits <= 6)) {
    throw new StatisticsError('out-of-range', said('digits-out-of-range', { digits }), { digits })
  }
  const length = Math.max(LEAST_SEQUENCE, Math.ceil(100 / (1 - coverage)))
  if (!(limit >= 2 * length && limit <= MOST_TRIALS)) {
    throw new StatisticsError(
      'out-of-range',
      said('adaptive-run-too-small', { length: 2 * length, most: MOST_TRIALS, limit }),
      { limit },
    )
  }
  const sequences: Float64Array[] = []
  const found = { value: [] as number[], u: [] as number[], low: [] as number[], high: [] as number[] }
  let tolerance = 0
  let stable = false
  while (!stable && (sequences.length + 1) * length <= limit) {
    const values = new Float64Array(length)
    fill(values)
    sequences.push(values)
    const { mean, squares } = momentsOf(values)
    const [low, high] = symmetricInterval(values, coverage)
    found.value.push(mean)
    found.u.push(Math.sqrt(squares / (length - 1)))
    found.low.push(low)
    found.high.push(high)
    if (sequences.length < 2) continue
    const overall = Math.sqrt(found.u.reduce((sum, u) => sum + u * u, 0) / sequences.length)
    tolerance = numericalTolerance(overall, digits)
    stable = Object.values(found).every((results) => 2 * standardErrorOf(results) <= tolerance)
  }
  const all = new Float64Array(sequences.length * length)
  sequences.forEach((values, h) => {
    all.set(values, h * length)
  })
  return { ...summary(all, coverage), coverage, trials: all.length, seed, tolerance, stable }
}

function standardErrorOf(results: readonly number[]): number {
  const h = results.length
  const mean = results.reduce((sum, value) => sum + value, 0) / h
  const squares = results.reduce((sum, value) => sum + (value - mean) ** 2, 0)
  return Math.sqrt(squares / (h * (h - 1)))
}

/** A function that fills an array with model values of further trials. */
function trialsOf(
  { inputs, correlations, model }: Pick<Budget, 'inputs' | 'correlations' | 'model'>,
  random: Random,
): (out: Float64Array) => void {
  const columns = inputs.map(() => new Float64Array(BLOCK))
  const names = inputs.map(({ name }) => name)
  const matrix = correlationMatrix(names, correlations ?? [])
  const groups = correlatedGroups(matrix)
  const joint = groups.map((group) => jointDraw(group, inputs, matrix, names, random))
  const grouped = new Set(groups.flat())
  const evaluate = blockOf(model, columns)
  // A quantity that does not vary is filled once.
  for (const [{ distribution, value }, column] of zip(inputs, columns))
    if (distribution.kind === 'constant') column.fill(value)
  const drawn = zip(inputs, columns).filter(
    ([{ distribution }], i) => !grouped.has(i) && distribution.kind !== 'constant',
  )
  const block = new Float64Array(BLOCK)
  return (out) => {
    for (let start = 0; start < out.length; start += BLOCK) {
      const count = Math.min(BLOCK, out.length - start)
      for (const [{ distribution, value }, column] of drawn) draw(distribution, value, random, column, count)
      for (const drawGroup of joint) drawGroup(columns, count)
      evaluate(block, count)
      out.set(block.subarray(0, count), start)
    }
    requireFinite(out)
  }
}

function requireFinite(values: Float64Array): void {
  let wrong = 0
  for (let k = 0; k < values.length; k++) if (!Number.isFinite(values[k])) wrong++
  if (wrong === 0) return
  throw new StatisticsError(
    'model-undefined',
    said('model-not-finite-in-trials', { wrong, values: values.length }),
    { wrong, trials: values.length },
  )
}

function blockOf(model: Model, columns: readonly Float64Array[]): (out: Float64Array, count: number) => void {
  const evaluateBlock = model.evaluateBlock?.bind(model)
  if (evaluateBlock !== undefined) return (out, count) => evaluateBlock(columns, out, count)
  const x = new Float64Array(columns.length)
  return (out, count) => {
    for (let k = 0; k < count; k++) {
      for (let i = 0; i < x.length; i++) x[i] = columns[i]![k]!
      out[k] = model.value(x)
    }
  }
}

function jointDraw(
  group: readonly number[],
  inputs: readonly BudgetInput[],
  matrix: readonly (readonly number[])[],
  names: readonly string[],
  random: Random,
): (columns: readonly Float64Array[], count: number) => void {
  const members = group.map((i) => at(inputs, i))
  const lower = choleskyOf(
    group.map((i) => group.map((j) => at(at(matrix, i), j))),
    group.map((i) => at(names, i)),
  )
  const rows = zip(group, zip(members, lower)).map(([place, [member, row]]) => ({
    place,
    ...member,
    row: Float64Array.from(row),
  }))
  const independent = new Float64Array(group.length)
  const sharedDof = sharedDegreesOfFreedom(members)
  return (columns, count) => {
    const own = rows.map((row) => ({ ...row, column: at(columns, row.place) }))
    for (let k = 0; k < count; k++) {
      for (let i = 0; i < independent.length; i++) independent[i] = random.normal()
      const widen = sharedDof === undefined ? 1 : Math.sqrt(sharedDof / chiSquared(sharedDof, random))
      for (const [i, { distribution, value, row, column }] of own.entries()) {
        const z = plusProducts(0, row, independent, i + 1)
        column[k] =
          distribution.kind === 't' && sharedDof !== undefined
            ? value + distribution.scale * z * widen
            : atNormalDeviate(distribution, value, z)
      }
    }
  }
}

/** The ν of a group that is t throughout and of one ν: a joint t; otherwise nothing. */
function sharedDegreesOfFreedom(members: readonly BudgetInput[]): number | undefined {
  const dofs = new Set(
    members.map(({ distribution }) =>
      distribution.kind === 't' ? distribution.degreesOfFreedom : undefined,
    ),
  )
  return dofs.size === 1 ? [...dofs][0] : undefined
}
