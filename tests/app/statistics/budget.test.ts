import { describe, expect, it } from 'vitest'
import {
  type BudgetInput,
  evaluateBudget,
  numericalSensitivity,
  welchSatterthwaite,
} from '../../../app/statistics/budget.ts'
import { compareWithMonteCarlo } from '../../../app/statistics/comparison.ts'
import {
  choleskyOf,
  correlatedGroups,
  correlationMatrix,
  observedCorrelation,
} from '../../../app/statistics/correlation.ts'
import { readExpression } from '../../../app/statistics/expression-text.ts'
import { modelOf } from '../../../app/statistics/model.ts'

const normal = (name: string, value: number, sd: number, degreesOfFreedom?: number): BudgetInput => ({
  name,
  value,
  distribution: { kind: 'normal', sd },
  ...(degreesOfFreedom !== undefined && { degreesOfFreedom }),
})
const budgetOf = (text: string, inputs: readonly BudgetInput[]) => ({
  inputs,
  model: modelOf(
    readExpression(
      text,
      inputs.map(({ name }) => name),
    ),
    inputs.length,
  ),
})

describe('evaluateBudget', () => {
  it('adds independent contributions in squares', () => {
    const result = evaluateBudget(budgetOf('3 a - 4 b', [normal('a', 1, 1), normal('b', 2, 1)]))
    expect(result).toMatchObject({ value: -5, sensitivities: [3, -4], contributions: [3, 4], combined: 5 })
    expect(result.effectiveDegreesOfFreedom).toBe(Number.POSITIVE_INFINITY)
    expect(result.U).toBeCloseTo(5 * 1.959963984540054, 12)
  })
  it('adds fully correlated contributions as they are, with their signs', () => {
    const inputs = [normal('a', 1, 1), normal('b', 2, 1)]
    const with1 = { ...budgetOf('3 a + 4 b', inputs), correlations: [{ a: 'a', b: 'b', r: 1 }] }
    expect(evaluateBudget(with1).combined).toBeCloseTo(7, 14)
    expect(evaluateBudget({ ...with1, correlations: [{ a: 'b', b: 'a', r: -1 }] }).combined).toBeCloseTo(
      1,
      14,
    )
  })
  it('keeps the degrees of freedom of a single input whole', () => {
    const result = evaluateBudget(budgetOf('7 a', [normal('a', 1, 0.3, 9)]))
    expect(result.degreesOfFreedomUsed).toBe(9)
    expect(result.k).toBeCloseTo(2.2621571628, 9)
  })
  it('takes inputs observed together as one contribution to the degrees of freedom', () => {
    const inputs = [normal('a', 1, 1, 4), normal('b', 1, 1, 4), normal('c', 1, 1)]
    const result = evaluateBudget({
      ...budgetOf('a + b', inputs),
      correlations: [{ a: 'a', b: 'b', r: 0.5 }],
    })
    expect(result.effectiveDegreesOfFreedom).toBeCloseTo(4, 12)
    expect(result.notes.join()).toContain('a, b')
  })
  it('uses an agreed k, and 2 exactly for 95.45 %', () => {
    const plain = budgetOf('a', [normal('a', 1, 0.5)])
    expect(evaluateBudget({ ...plain, k: 2.5 }).U).toBe(1.25)
    expect(evaluateBudget({ ...plain, coverage: 0.9545 }).U).toBe(1)
  })
  it('finds sensitivities of a plain function by differences', () => {
    const inputs = [normal('a', 2, 0.01), normal('b', 3, 0.02)]
    const result = evaluateBudget({ inputs, model: { value: (x) => x[0]! ** 2 * Math.exp(x[1]!) } })
    expect(result.sensitivities[0]! / (4 * Math.exp(3))).toBeCloseTo(1, 10)
    expect(result.sensitivities[1]! / (4 * Math.exp(3))).toBeCloseTo(1, 8)
    expect(result.higherOrder).toBeUndefined()
  })
  it('finds them by differences where the rule has none, and says so', () => {
    const result = evaluateBudget(budgetOf('max(a, b)', [normal('a', 2, 0.1), normal('b', 1, 0.1)]))
    expect(result.sensitivities[0]).toBeCloseTo(1, 9)
    expect(result.notes.join()).toContain('by differences')
  })
  it('notes a model that bends over the uncertainty of an input', () => {
    const result = evaluateBudget(budgetOf('sin(a)', [normal('a', 0, 3)]))
    expect(result.notes.join()).toContain('not straight in a')
  })
  it('gives the exact variance of a square to second order', () => {
    // Var(x²) = 4 μ² σ² + 2 σ⁴ for a normal x.
    const result = evaluateBudget(budgetOf('a^2', [normal('a', 3, 0.5)]))
    expect(result.higherOrder!.combined).toBeCloseTo(Math.sqrt(4 * 9 * 0.25 + 2 * 0.0625), 12)
  })
  it('refuses what cannot be a budget', () => {
    expect(() => evaluateBudget(budgetOf('a', [normal('a', 1, 1), normal('a', 1, 1)]))).toThrow(
      'two inputs named a',
    )
    expect(() => evaluateBudget(budgetOf('a', [normal('a', Number.NaN, 1)]))).toThrow('not a finite')
    expect(() => evaluateBudget(budgetOf('a', [normal('a', 1, -1)]))).toThrow('sd cannot be -1')
    expect(() => evaluateBudget(budgetOf('a', [normal('a', 1, 1, 0)]))).toThrow('degrees of freedom')
    expect(() => evaluateBudget(budgetOf('1/a', [normal('a', 0, 1)]))).toThrow(
      'no finite value at the estimates',
    )
    expect(() => evaluateBudget(budgetOf('sqrt(a)', [normal('a', 0, 1)]))).toThrow(
      'no derivative with respect to a',
    )
    expect(() => evaluateBudget({ ...budgetOf('a', [normal('a', 1, 1)]), coverage: 1 })).toThrow('coverage')
  })
})

describe('numericalSensitivity', () => {
  it('works for an input without uncertainty', () => {
    const model = { value: (x: ArrayLike<number>) => 5 * x[0]! }
    expect(numericalSensitivity(model, [0], 0, 0)).toBeCloseTo(5, 10)
    expect(numericalSensitivity(model, [1e9], 0, 0)).toBeCloseTo(5, 6)
  })
})

describe('welchSatterthwaite', () => {
  it('is infinite without finite degrees of freedom or without uncertainty', () => {
    expect(welchSatterthwaite(1, [{ u: 1, degreesOfFreedom: Number.POSITIVE_INFINITY }])).toBe(
      Number.POSITIVE_INFINITY,
    )
    expect(welchSatterthwaite(0, [{ u: 0, degreesOfFreedom: 3 }])).toBe(Number.POSITIVE_INFINITY)
  })
  it('adds two equal contributions of equal degrees of freedom to twice as many', () => {
    const one = { u: 1, degreesOfFreedom: 5 }
    expect(welchSatterthwaite(Math.SQRT2, [one, one])).toBeCloseTo(10, 12)
  })
})

describe('correlationMatrix', () => {
  const names = ['a', 'b', 'c']
  it('refuses unknown names, values beyond 1, pairs given twice', () => {
    expect(() => correlationMatrix(names, [{ a: 'a', b: 'q', r: 0 }])).toThrow('names q')
    expect(() => correlationMatrix(names, [{ a: 'a', b: 'b', r: 1.1 }])).toThrow('between -1 and 1')
    expect(() => correlationMatrix(names, [{ a: 'a', b: 'a', r: 0.5 }])).toThrow('with itself')
    expect(() =>
      correlationMatrix(names, [
        { a: 'a', b: 'b', r: 0.5 },
        { a: 'b', b: 'a', r: 0.5 },
      ]),
    ).toThrow('twice')
  })
  it('finds the groups that hang together', () => {
    const matrix = correlationMatrix(
      ['a', 'b', 'c', 'd'],
      [
        { a: 'a', b: 'd', r: 0.2 },
        { a: 'd', b: 'b', r: 0.2 },
      ],
    )
    expect(correlatedGroups(matrix)).toEqual([[0, 1, 3]])
  })
})

describe('choleskyOf', () => {
  it('multiplies back, full correlation included', () => {
    const matrix = [
      [1, 0.5, 1],
      [0.5, 1, 0.5],
      [1, 0.5, 1],
    ]
    const lower = choleskyOf(matrix, ['a', 'b', 'c'])
    matrix.forEach((row, i) => {
      row.forEach((r, j) => {
        expect(lower[i]!.reduce((sum, value, k) => sum + value * lower[j]![k]!, 0)).toBeCloseTo(r, 12)
      })
    })
  })
  it('refuses correlations that contradict one another', () => {
    const matrix = [
      [1, 0.9, -0.9],
      [0.9, 1, 0.9],
      [-0.9, 0.9, 1],
    ]
    expect(() => choleskyOf(matrix, ['a', 'b', 'c'])).toThrow('found at c')
    expect(() =>
      choleskyOf(
        [
          [1, 1, 0.2],
          [1, 1, 0.5],
          [0.2, 0.5, 1],
        ],
        ['a', 'b', 'c'],
      ),
    ).toThrow('contradict')
  })
})

describe('observedCorrelation', () => {
  it('is 1 for a rising line and -1 for a falling one', () => {
    expect(observedCorrelation([1, 2, 4], [3, 5, 9])).toBe(1)
    expect(observedCorrelation([1, 2, 4], [-3, -5, -9])).toBe(-1)
  })
  it('refuses series of unequal length', () => {
    expect(() => observedCorrelation([1, 2], [1])).toThrow('pairs')
    expect(() => observedCorrelation([1], [1])).toThrow('two pairs')
  })
})

describe('compareWithMonteCarlo', () => {
  it('validates intervals whose ends agree to the tolerance', () => {
    const budget = evaluateBudget({ ...budgetOf('a', [normal('a', 10, 0.2)]), k: 2 })
    const same = { symmetric: [9.604, 10.396] as const, shortest: [9.6, 10.41] as const }
    const found = compareWithMonteCarlo(budget, same)
    expect(found.delta).toBe(0.005)
    expect(found.validated).toBe(true)
    expect(found.dLow).toBeCloseTo(0.004, 12)
    expect(found.shortest.validated).toBe(false)
    expect(compareWithMonteCarlo(budget, same, 3).validated).toBe(false)
  })
})
