import { describe, expect, it } from 'vitest'
import { answerBudgetLine } from '../../../app/statistics/budget-request.ts'
import { answerDescribeLine } from '../../../app/statistics/describe-request.ts'
import { InputStatement, inputOf } from '../../../app/statistics/input-statement.ts'

const describeLine = (request: unknown) =>
  JSON.parse(
    JSON.stringify(answerDescribeLine(typeof request === 'string' ? request : JSON.stringify(request), 1)),
  ) as Record<string, unknown>
const budgetLine = (request: object) =>
  JSON.parse(
    JSON.stringify(answerBudgetLine(JSON.stringify({ monteCarlo: { trials: 2000 }, ...request }), 1)),
  ) as {
    error?: string
    value: number
    jcgm100: Record<string, unknown>
    jcgm101: Record<string, unknown>
  }
const statement = (fields: object) => inputOf(InputStatement.parse({ name: 'x', ...fields }))

describe('answerDescribeLine', () => {
  it('hands the id back and gives the fields that were promised', () => {
    const answer = describeLine({ id: 'a', values: [1, 2, 3, 4, 7], interval: 2 })
    expect(answer).toMatchObject({ id: 'a', n: 5, mean: 3.4, drift: 0.7, span: 6, duration: 8 })
    for (const field of ['sd', 'lag1', 'nEffective', 'standardError', 'driftUncertainty']) {
      expect(typeof answer[field]).toBe('number')
    }
    expect((answer.allan as { tau: number }[]).map(({ tau }) => tau)).toEqual([2, 4])
  })
  it('takes an interval of 1 s, texts for numbers and null for a gap', () => {
    expect(describeLine({ values: ['1.5', null, 2.5, 2.5] })).toMatchObject({
      id: null,
      n: 3,
      leftOut: 1,
      duration: 3,
    })
  })
  it('marks spikes, and leaves them out only when asked to', () => {
    const values = [1, 2, 1, 2, 1, 90, 2, 1]
    expect(describeLine({ values })).toMatchObject({ n: 8, spikes: [5], maximum: 90 })
    expect(describeLine({ values, spikes: true })).toMatchObject({
      n: 7,
      leftOut: 1,
      spikes: [5],
      maximum: 2,
    })
    expect(describeLine({ values, spikes: { limit: 1e6 } })).toMatchObject({ n: 8, spikes: [] })
  })
  it('takes uneven times and then gives no Allan deviation', () => {
    expect(describeLine({ values: [1, 2, 4], times: [0, 1, 3] })).toMatchObject({ drift: 1, allan: [] })
  })
  it('states what the values do not determine as null', () => {
    expect(describeLine({ values: [5] })).toMatchObject({ n: 1, mean: 5, sd: null, lag1: null, allan: [] })
  })
  it.each([
    ['{', /Line 1 is not JSON/],
    ['[1]', /a JSON object is wanted/],
    ['{"id":2}', /values is an array/],
    ['{"values":[1,"x"]}', /values\.1: not a number/],
    ['{"values":[]}', /no values/],
    ['{"values":[1,2],"interval":-1}', /interval/],
    ['{"values":[1,2],"times":[0]}', /one time for each/],
    ['{"values":[1,2],"marks":[1]}', /1 marks for 2 values/],
    ['{"values":[1,2],"allan":"other"}', /allan is one of/],
    ['{"values":[null,null]}', /marked or not finite/],
  ])('answers %s with an error in words', (line, words) => {
    expect(describeLine(line).error).toMatch(words)
  })
})

describe('inputOf', () => {
  it.each([
    [
      { value: 1, standardUncertainty: 0.1 },
      { kind: 'normal', sd: 0.1 },
    ],
    [
      { value: 1, standardUncertainty: 0.1, degreesOfFreedom: 4 },
      { kind: 't', scale: 0.1, degreesOfFreedom: 4 },
    ],
    [
      { value: 1, standardUncertainty: 0.1, degreesOfFreedom: null },
      { kind: 'normal', sd: 0.1 },
    ],
    [
      { value: 1, standardUncertainty: 0.1, degreesOfFreedom: 'infinity' },
      { kind: 'normal', sd: 0.1 },
    ],
    [
      { value: 1, halfWidth: 0.2 },
      { kind: 'rectangular', halfWidth: 0.2 },
    ],
    [
      { value: 1, halfWidth: 0.2, distribution: 'Uniform' },
      { kind: 'rectangular', halfWidth: 0.2 },
    ],
    [
      { value: 1, halfWidth: 0.2, distribution: 'U-shaped' },
      { kind: 'arcsine', halfWidth: 0.2 },
    ],
    [
      { value: 1, halfWidth: 0.2, distribution: 'trapezoid', ratio: 0.5 },
      { kind: 'trapezoidal', halfWidth: 0.2, ratio: 0.5 },
    ],
    [
      { lower: 1, upper: 3 },
      { kind: 'rectangular', halfWidth: 1 },
    ],
    [
      { lower: 1, upper: 3, distribution: 'triangular' },
      { kind: 'triangular', halfWidth: 1 },
    ],
    [
      { value: 1, expanded: 0.2, k: 2 },
      { kind: 'normal', sd: 0.1 },
    ],
    [
      { value: 1, expanded: 0.2, coverage: 0.9545 },
      { kind: 'normal', sd: 0.1 },
    ],
    [
      { value: 3, distribution: 'exponential' },
      { kind: 'exponential', mean: 3 },
    ],
    [{ value: 3 }, { kind: 'constant' }],
  ])('understands %j', (fields, distribution) => {
    expect(statement(fields).distribution).toEqual(distribution)
  })
  it.each(['rectangular', 'triangular', 'arcsine', 'normal'])(
    'keeps a stated standard uncertainty for %s',
    async (distribution) => {
      const { standardUncertaintyOf } = await import('../../../app/statistics/distributions.ts')
      expect(
        standardUncertaintyOf(statement({ value: 0, standardUncertainty: 0.3, distribution }).distribution),
      ).toBeCloseTo(0.3, 14)
    },
  )
  it.each([
    ['trapezoidal', { ratio: 0.4 }],
    ['curvilinear-trapezoidal', { limits: 0.2 }],
    ['exponential', {}],
  ])('keeps a stated standard uncertainty for %s with %o', async (distribution, more) => {
    const { standardUncertaintyOf } = await import('../../../app/statistics/distributions.ts')
    const fields = { value: 0, standardUncertainty: 0.3, distribution, ...more }
    expect(standardUncertaintyOf(statement(fields).distribution)).toBeCloseTo(0.3, 14)
  })
  it('takes limits of limits up to three times the standard uncertainty, which leave no half-width, and refuses more', () => {
    const fields = { value: 0, standardUncertainty: 1, distribution: 'curvilinear-trapezoidal' }
    expect(statement({ ...fields, limits: 3 }).distribution).toMatchObject({ halfWidth: 0, limits: 3 })
    expect(() => statement({ ...fields, limits: 3.01 })).toThrow(/limits is too large/)
  })
  it('takes the middle of limits as the value', () => {
    expect(statement({ lower: 1, upper: 3 }).value).toBe(2)
  })
  it('takes observations as a t of n − 1', () => {
    expect(statement({ observations: [1, 2, 3] })).toMatchObject({
      value: 2,
      degreesOfFreedom: 2,
      distribution: { kind: 't', degreesOfFreedom: 2 },
    })
  })
  it.each([
    [{}, /value is missing/],
    [{ value: 1, distribution: 'normal' }, /its uncertainty is missing/],
    [{ value: 1, standardUncertainty: 1, halfWidth: 1 }, /in one way/],
    [{ value: 1, distribution: 'normal', halfWidth: 1 }, /no half-width/],
    [{ value: 1, expanded: 1 }, /needs its k/],
    [{ value: 1, expanded: 1, k: 0 }, /k must be above 0/],
    [{ upper: 1 }, /lower and upper/],
    [{ lower: 2, upper: 1 }, /lower and upper/],
    [{ lower: 1, upper: 3, value: 1 }, /not the middle/],
    [{ value: 1, distribution: 'trapezoidal', halfWidth: 1 }, /ratio/],
    [{ value: 1, distribution: 'constant', standardUncertainty: 1 }, /a constant has no uncertainty/],
  ])('refuses %j', (fields, words) => {
    expect(() => statement(fields)).toThrow(words)
  })
})

describe('answerBudgetLine', () => {
  const r = { name: 'R', value: 100, standardUncertainty: 0.001, degreesOfFreedom: 9 }
  it('gives both results beside one another, by the names of the inputs', () => {
    const answer = budgetLine({
      id: 4,
      unit: 'ohm',
      inputs: [r, { name: 'd', value: 0, halfWidth: 0.002 }],
      model: 'R + d',
    })
    expect(answer).toMatchObject({
      id: 4,
      unit: 'ohm',
      value: 100,
      jcgm100: { sensitivities: { R: 1, d: 1 } },
    })
    expect(answer.jcgm100.effectiveDegreesOfFreedom).toBeCloseTo(49, 9)
    expect(answer.jcgm101).toMatchObject({ trials: 2000, seed: 1 })
    expect(Object.keys(answer)).toContain('comparison')
  })
  it('keeps the budget where the Monte Carlo has no value', () => {
    const answer = budgetLine({ inputs: [{ name: 'x', value: 1, standardUncertainty: 1 }], model: 'sqrt(x)' })
    expect(answer.value).toBe(1)
    expect(answer.jcgm101.error).toMatch(/no finite value/)
  })
  it('leaves the Monte Carlo out, or adapts it, when asked to', () => {
    expect(budgetLine({ inputs: [r], model: 'R', monteCarlo: false }).jcgm101).toBeUndefined()
    expect(budgetLine({ inputs: [r], model: 'R', monteCarlo: { trials: 'adaptive' } }).jcgm101).toMatchObject(
      { stable: true },
    )
    expect(budgetLine({ inputs: [r], model: 'R', monteCarlo: { adaptive: true } }).jcgm101).toMatchObject({
      stable: true,
    })
  })
  it('says which inputs the model does not use', () => {
    const { jcgm100 } = budgetLine({ inputs: [r, { name: 'q', value: 1 }], model: 'R' })
    expect(jcgm100.notes).toEqual(['Not in the model: q.'])
  })
  it.each([
    [{ inputs: [], model: '1' }, /1 to 1000 inputs/],
    [{ inputs: [r], model: 'R +' }, /cannot be read/],
    [{ inputs: [r], model: 'S' }, /no input/],
    [{ inputs: [r, r], model: 'R' }, /two inputs named R/],
    [{ inputs: [{ ...r, distribution: 'cauchy' }], model: 'R' }, /distribution is one of/],
    [{ inputs: [r], model: 'R', coverage: 0 }, /coverage/],
    [{ inputs: [r], model: 'R', correlations: [{ a: 'R', b: 'S', r: 0.1 }] }, /names S/],
    [{ inputs: [r, { name: 'S', value: 1 }], model: 'R', correlations: [{ a: 'R', b: 'S' }] }, /needs its r/],
    [{ inputs: [r], model: 'import("x")' }, /not allowed/],
  ])('answers %j with an error in words', (request, words) => {
    expect(budgetLine(request).error).toMatch(words)
  })
})

describe('requestInOwnWords', () => {
  const model = 'x + y'
  const plain = [
    { name: 'x', value: 1, standardUncertainty: 1 },
    { name: 'y', value: 2, standardUncertainty: 1 },
  ]
  const combined = (request: object) => budgetLine({ model, monteCarlo: false, ...request }).jcgm100?.combined
  it.each([
    [{ inputs: plain, correlations: [{ a: 'x', b: 'y', r: 1 }] }],
    [{ inputs: plain, correlations: [['x', 'y', 1]] }],
    [{ inputs: plain, correlations: [{ between: ['x', 'y'], value: 1 }] }],
    [{ inputs: plain, correlations: { x: { y: 1 } } }],
    [
      {
        inputs: plain,
        correlations: [
          [1, 1],
          [1, 1],
        ],
      },
    ],
    [
      {
        inputs: [
          { ...plain[0], correlations: { y: 1 } },
          { ...plain[1], correlations: { x: 1 } },
        ],
      },
    ],
    [
      {
        inputs: { x: { estimate: 1, u: 1 }, y: { mean: 2, uncertainty: 1 } },
        correlations: [{ x: 'x', y: 'y', coefficient: 1 }],
      },
    ],
  ])('understands %j', (request) => {
    expect(combined(request)).toBe(2)
  })
  it('understands other names of the request', () => {
    const answer = budgetLine({
      inputs: plain,
      expression: model,
      coverageProbability: 0.9545,
      monteCarlo: false,
    })
    expect(answer.jcgm100).toMatchObject({ k: 2 })
  })
  it('leaves what it does not know for the schema to refuse', () => {
    expect(budgetLine({ inputs: plain, model, correlations: 'x' }).error).toMatch(/correlations/)
    expect(budgetLine({ inputs: plain, model, correlations: { x: 1 } }).error).toMatch(/correlations/)
    expect(budgetLine({ inputs: [1], model }).error).toMatch(/inputs/)
    const twice = [
      { a: 'x', b: 'y', r: 0.5 },
      { a: 'y', b: 'x', r: 0.4 },
    ]
    expect(budgetLine({ inputs: plain, model, correlations: twice }).error).toMatch(/given twice/)
  })
})
