import { z } from 'zod'
import { zip } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import {
  type Budget,
  type BudgetResult,
  correlationOfResults,
  evaluateBudget,
  requireInputs,
} from './budget.ts'
import { type BudgetComparison, compareWithMonteCarlo } from './comparison.ts'
import { type Correlation, observedCorrelation } from './correlation.ts'
import { StatisticsError } from './errors.ts'
import { inputsOf } from './expression.ts'
import { readExpression } from './expression-text.ts'
import { type InputStatement as Input, InputStatement, inputOf } from './input-statement.ts'
import { modelOf } from './model.ts'
import { type MonteCarloOptions, type MonteCarloResult, propagateDistributions } from './monte-carlo.ts'
import { lineAnswerer, NumberOrText } from './request.ts'
import { requestInOwnWords } from './synonyms.ts'

const CorrelationStatement = z.object({
  a: z.string(),
  b: z.string(),
  /** Left out where both inputs were observed together: it follows from the observations. */
  r: NumberOrText.optional(),
})

const Statement = z.object({
  id: z.unknown().optional(),
  inputs: z.array(InputStatement, { error: 'inputs is an array of 1 to 1000 inputs' }).min(1).max(1000),
  correlations: z.array(CorrelationStatement).optional(),
  /** One expression, or several results by name. */
  model: z.union([z.string(), z.record(z.string(), z.string())], {
    error: 'model is an expression, or expressions by name',
  }),
  unit: z.string().optional(),
  coverage: NumberOrText.optional(),
  k: NumberOrText.optional(),
  monteCarlo: z
    .union([
      z.literal(false),
      z.object({
        trials: z.union([z.int(), z.literal('adaptive')]).optional(),
        adaptive: z.boolean().optional(),
        seed: z.int().optional(),
        digits: z.int().optional(),
        maximumTrials: z.int().optional(),
      }),
    ])
    .optional(),
})

/** A request in any of the spellings that requestInOwnWords knows. */
export const BudgetRequest = z.preprocess(requestInOwnWords, Statement)
export type BudgetRequest = z.infer<typeof BudgetRequest>

type ByName = Readonly<Record<string, number>>

interface Jcgm100 extends Omit<BudgetResult, 'sensitivities' | 'standardUncertainties' | 'contributions'> {
  readonly sensitivities: ByName
  readonly standardUncertainties: ByName
  readonly contributions: ByName
}

export interface ResultAnswer {
  readonly value: number
  readonly jcgm100: Jcgm100
  /** `error` where the model has no value in some of the trials: the budget stands all the same. */
  readonly jcgm101?: MonteCarloResult | { readonly error: string }
  readonly comparison?: BudgetComparison
}

export type BudgetAnswer =
  | (ResultAnswer & { readonly unit?: string })
  | {
      readonly outputs: Readonly<Record<string, ResultAnswer>>
      readonly correlations: readonly Correlation[]
    }

/**
 * Answers one request for a budget: JCGM 100, and JCGM 101 beside it.
 *
 * Symbols  request, see BudgetRequest
 * Source   evaluateBudget, propagateDistributions, compareWithMonteCarlo
 * Valid    as those functions
 * Throws   StatisticsError, in words
 */
export function answerBudget(request: BudgetRequest): BudgetAnswer {
  const inputs = request.inputs.map(inputOf)
  requireInputs(inputs)
  const correlations = correlationsOf(request)
  const answerOf = (text: string) => {
    const expression = readExpression(
      text,
      inputs.map(({ name }) => name),
    )
    const used = inputsOf(expression)
    const idle = inputs.filter((_, i) => !used.has(i)).map(({ name }) => name)
    return oneResult(request, { inputs, correlations, model: modelOf(expression, inputs.length) }, idle)
  }
  if (typeof request.model === 'string') {
    const { answer } = answerOf(request.model)
    return request.unit === undefined ? answer : { unit: request.unit, ...answer }
  }
  const results = Object.entries(request.model).map(([name, text]) => ({ name, ...answerOf(text) }))
  const pairs = results.flatMap((y, i) =>
    results.slice(i + 1).map((z) => ({
      a: y.name,
      b: z.name,
      r: correlationOfResults(inputs, correlations, y.budget, z.budget),
    })),
  )
  return {
    outputs: Object.fromEntries(results.map(({ name, answer }) => [name, answer])),
    correlations: pairs,
  }
}

function oneResult(
  { coverage, k, monteCarlo }: BudgetRequest,
  plain: Pick<Budget, 'inputs' | 'correlations' | 'model'>,
  idle: readonly string[],
): { budget: BudgetResult; answer: ResultAnswer } {
  const stated: Budget = {
    ...plain,
    ...(coverage !== undefined && { coverage }),
    ...(k !== undefined && { k }),
  }
  const evaluated = evaluateBudget(stated)
  const notes = [...evaluated.notes, ...(idle.length > 0 ? [`Not in the model: ${idle.join(', ')}.`] : [])]
  const budget = { ...evaluated, notes }
  const byName = (values: readonly number[]): ByName =>
    Object.fromEntries(zip(plain.inputs, values).map(([{ name }, value]) => [name, value]))
  const jcgm100: Jcgm100 = {
    ...budget,
    sensitivities: byName(budget.sensitivities),
    standardUncertainties: byName(budget.standardUncertainties),
    contributions: byName(budget.contributions),
  }
  const head = { value: budget.value, jcgm100 }
  if (monteCarlo === false) return { budget, answer: head }
  try {
    const { options, digits } = optionsOf(monteCarlo)
    const jcgm101 = propagateDistributions(stated, options)
    return {
      budget,
      answer: { ...head, jcgm101, comparison: compareWithMonteCarlo(budget, jcgm101, digits) },
    }
  } catch (fault) {
    if (!(fault instanceof StatisticsError) || fault.code !== 'model-undefined') throw fault
    return { budget, answer: { ...head, jcgm101: { error: fault.message } } }
  }
}

function optionsOf(monteCarlo: Exclude<BudgetRequest['monteCarlo'], false>): {
  options: MonteCarloOptions
  digits: number
} {
  const { trials, adaptive, seed, digits = 2, maximumTrials } = monteCarlo ?? {}
  return {
    digits,
    options: {
      digits,
      ...(typeof trials === 'number' && { trials }),
      ...((adaptive === true || trials === 'adaptive') && { adaptive: true }),
      ...(seed !== undefined && { seed }),
      ...(maximumTrials !== undefined && { maximumTrials }),
    },
  }
}

function correlationsOf({ correlations = [], inputs }: BudgetRequest): Correlation[] {
  const seriesOf = (name: string): Input['observations'] =>
    inputs.find((input) => input.name === name)?.observations
  return correlations.map(({ a, b, r }) => {
    if (r !== undefined) return { a, b, r }
    const x = seriesOf(a)
    const y = seriesOf(b)
    if (x === undefined || y === undefined) {
      throw new StatisticsError('out-of-range', said('correlation-without-value', { a, b }), { a, b })
    }
    return { a, b, r: observedCorrelation(x, y) }
  })
}

/**
 * Answers one line of `budget`.
 *
 * Symbols  line, its number
 * Source   lineAnswerer
 * Valid    any text
 * Throws   nothing
 */
export const answerBudgetLine = lineAnswerer(BudgetRequest, answerBudget)
