import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { derivative, evaluate, inputsOf, UNARY } from '../../../app/statistics/expression.ts'
import { FUNCTION_NAMES, readExpression } from '../../../app/statistics/expression-text.ts'
import { modelOf } from '../../../app/statistics/model.ts'

const names = ['x', 'y', 'z']
const value = (text: string, at: readonly number[] = [2, 3, 5]) => evaluate(readExpression(text, names), at)

describe('readExpression', () => {
  it.each([
    ['x + y*z', 17],
    ['x - y - z', -6],
    ['2^3^2', 512],
    ['-x^2', -4],
    ['x y z', 30],
    ['2 x (y + 1)', 16],
    ['x (y + z)', 16],
    ['w = x + 1', 3],
    ['sqrt(x*8) + cbrt(27)', 7],
    ['ln(exp(x)) + log10(1000) + log2(8) + log(100, 10)', 10],
    ['hypot(y, 4) + min(z, x, y) + max(1, x)', 9],
    ['pow(x, y) + square(z) + cube(x)', 41],
    ['abs(-y) + sign(-z)', 2],
    ['√(4)·y − 1', 5],
    ['y² + x³ ÷ 4', 11],
    ['x**2', 4],
    ['1/2 pi', Math.PI / 2],
    ['1.5e3 + .5', 1500.5],
    ['atan2(x, x)', Math.PI / 4],
    ['tan(arctan(x))', 2],
  ])('reads %s', (text, expected) => {
    expect(value(text)).toBeCloseTo(expected, 12)
  })
  it('lets an input have the name of a constant or of a function', () => {
    expect(evaluate(readExpression('e + pi', ['e']), [10])).toBeCloseTo(10 + Math.PI, 12)
    expect(evaluate(readExpression('sin (2)', ['sin']), [7])).toBe(14)
    expect(evaluate(readExpression('δα θ', ['δα', 'θ']), [2, 3])).toBe(6)
  })
  it.each([
    'import("fs")',
    'evaluate("1")',
    'parse("1")',
    'simplify("x")',
    'createUnit("foo")',
    'derivative("x", "x")',
    'x.constructor',
    'x["constructor"]',
    'constructor(1)',
    'toString(x)',
    'hasOwnProperty(x)',
    '__proto__',
    'f(t) = t',
    'x = 1; y = 2',
    'x > 2',
    'x ? 1 : 2',
    '[1, 2]',
    '{a: 1}',
    '1:3',
    'x!',
    'x%2',
    "x'",
    'x and y',
    'x | y',
    '"text"',
    'true',
    'null',
    '5 cm',
    'i',
    'random()',
    '',
    'x +',
    '(x',
    'sqrt x',
    'sqrt()',
    'sin(x, y)',
    'unknown + 1',
    'x/y z',
    'end',
  ])('refuses %s', (text) => {
    expect(() => readExpression(text, names)).toThrow(/model|quotient|function/i)
  })
  it('says what is wrong in words', () => {
    expect(() => readExpression('x + q', names)).toThrow('names q, which is no input; the inputs are x, y, z')
    expect(() => readExpression('x/y z', names)).toThrow('two ways')
    expect(() => readExpression('cos x', names)).toThrow('cos(...)')
    expect(() => readExpression(`x${'+1'.repeat(6000)}`, names)).toThrow('at most 10000')
    expect(() => readExpression(`${'('.repeat(3000)}x${')'.repeat(3000)}`, names)).toThrow(
      /deeply|cannot be read/,
    )
  })
  it('never runs or throws anything but its own refusals, whatever the text', () => {
    const parts = fc.constantFrom(
      'x',
      'y',
      '1',
      '.5',
      '+',
      '-',
      '*',
      '/',
      '^',
      '(',
      ')',
      ',',
      ' ',
      'sin',
      'a',
      '=',
      '[',
      '"',
      "'",
      '!',
      ':',
      ';',
      '\n',
      'e',
      '∞',
    )
    fc.assert(
      fc.property(fc.array(parts, { maxLength: 14 }), (text) => {
        try {
          return Number.isNaN(evaluate(readExpression(text.join(''), names), [1, 2, 3])) || true
        } catch (fault) {
          return (fault as Error).name === 'StatisticsError'
        }
      }),
      { numRuns: 2000 },
    )
  })
})

describe('derivative', () => {
  const at: Readonly<Record<string, number>> = { acosh: 1.7, atanh: 0.4, asin: 0.4, acos: 0.4 }
  it.each(Object.keys(UNARY).filter((name) => name !== 'negate' && name !== 'sign'))(
    'of %s is its slope',
    (name) => {
      const expression = readExpression(`${name}(x)`, ['x'])
      const x = at[name] ?? 0.7
      const slope = (evaluate(expression, [x + 1e-5]) - evaluate(expression, [x - 1e-5])) / 2e-5
      expect(evaluate(derivative(expression, 0)!, [x])).toBeCloseTo(slope, 8)
    },
  )
  it.each([
    'x y z',
    'x/y + y/z',
    'x^3 y^z',
    'atan2(x, y)',
    'sqrt(x^2 + y^2) exp(-z/10)',
    'ln(x*y)/z',
    '(x - y)^2',
  ])('of %s agrees with differences, to the third order', (text) => {
    const model = modelOf(readExpression(text, names), 3)
    const point = [1.2, 0.8, 1.5]
    const nudged = (i: number, step: number) => point.map((v, k) => (k === i ? v + step : v))
    const first = model.sensitivities!(point)
    const { second, third } = model.higher!(point)!
    const h = 1e-4
    for (let i = 0; i < 3; i++) {
      expect(first[i]).toBeCloseTo((model.value(nudged(i, h)) - model.value(nudged(i, -h))) / (2 * h), 6)
      for (let j = 0; j < 3; j++) {
        const slope = (step: number) => model.sensitivities!(nudged(j, step))[i]!
        expect(second[i]![j]).toBeCloseTo((slope(h) - slope(-h)) / (2 * h), 5)
        expect(third[i]![j]).toBeCloseTo((slope(h) - 2 * slope(0) + slope(-h)) / (h * h), 4)
        expect(second[i]![j]).toBeCloseTo(second[j]![i]!, 10)
      }
    }
  })
  it('has none for min and max', () => {
    expect(derivative(readExpression('max(x, y)', names), 0)).toBeUndefined()
    expect(modelOf(readExpression('max(x, y)', names), 3).higher!([1, 2, 3])).toBeUndefined()
  })
})

describe('modelOf', () => {
  it('evaluates blocks as it evaluates single trials, and nothing beyond them', () => {
    for (const text of [
      ...['x + y', 'x - y', 'x * y', 'x / y', 'x^y', 'sqrt(x)'],
      'x y - z/x + sqrt(y)',
      'x',
      '7',
      'x^2 + x^2 - hypot(x, y)',
      'max(x, y, z)^1.5',
      '-(x)',
    ]) {
      const model = modelOf(readExpression(text, names), 3)
      const columns = [3, 5, 7].map((seed) =>
        Float64Array.from({ length: 50 }, (_, k) => 1 + ((k * seed) % 11)),
      )
      for (const count of [10, 50, 3]) {
        const out = new Float64Array(50).fill(Number.NaN)
        model.evaluateBlock!(columns, out, count)
        expect(out.subarray(count).every(Number.isNaN)).toBe(true)
        for (let k = 0; k < count; k++)
          expect(out[k]).toBeCloseTo(model.value(columns.map((column) => column[k]!)), 12)
      }
    }
  })
})

describe('higher derivatives', () => {
  it('are left out for more than a hundred inputs of a model that bends', () => {
    const many = Array.from({ length: 101 }, (_, i) => `x${i}`)
    const at = many.map(() => 1)
    expect(modelOf(readExpression(many.join(' + '), many), 101).higher!(at)).toBeDefined()
    expect(modelOf(readExpression(many.join(' * '), many), 101).higher!(at)).toBeUndefined()
  })
})

describe('inputsOf', () => {
  it('tells which inputs take part', () => {
    expect([...inputsOf(readExpression('x + sin(z)', names))].sort()).toEqual([0, 2])
  })
})

describe('FUNCTION_NAMES', () => {
  it('lists only functions that can be called', () => {
    for (const name of FUNCTION_NAMES) {
      const two = ['atan2', 'pow'].includes(name)
      expect(Number.isNaN(value(`${name}(${two ? '1, 1' : '1'})`))).toBe(false)
    }
  })
})
