import type { BudgetResult } from './budget.ts'
import { type MonteCarloResult, numericalTolerance } from './monte-carlo.ts'

interface IntervalComparison {
  /** Distance of the lower and of the upper ends of the two intervals. */
  readonly dLow: number
  readonly dHigh: number
  /** Both within the tolerance. */
  readonly validated: boolean
}

export interface BudgetComparison extends IntervalComparison {
  /** Numerical tolerance δ of the combined standard uncertainty. */
  readonly delta: number
  readonly digits: number
  /** The same with the terms of higher order, and against the shortest interval. */
  readonly higherOrder?: IntervalComparison
  readonly shortest: IntervalComparison
}

/**
 * Whether the interval of the uncertainty budget may stand in for that of the Monte Carlo.
 *
 *   d_low = |y − U − y_low|,  d_high = |y + U − y_high|;  validated if both ≤ δ
 *
 * Symbols  y ± U interval of the budget; y_low, y_high the symmetric interval of the Monte Carlo; δ tolerance
 * Source   JCGM 101:2008, 8.1 and 7.9.2
 * Valid    both of one coverage probability
 * Throws   nothing
 */
export function compareWithMonteCarlo(
  budget: BudgetResult,
  monteCarlo: Pick<MonteCarloResult, 'symmetric' | 'shortest'>,
  digits = 2,
): BudgetComparison {
  const delta = numericalTolerance(budget.combined, digits)
  const against = (own: readonly [number, number], other: readonly [number, number]): IntervalComparison => {
    const dLow = Math.abs(own[0] - other[0])
    const dHigh = Math.abs(own[1] - other[1])
    return { dLow, dHigh, validated: dLow <= delta && dHigh <= delta }
  }
  return {
    ...against(budget.interval, monteCarlo.symmetric),
    delta,
    digits,
    shortest: against(budget.interval, monteCarlo.shortest),
    ...(budget.higherOrder && { higherOrder: against(budget.higherOrder.interval, monteCarlo.symmetric) }),
  }
}
