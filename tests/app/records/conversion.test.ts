import { describe, expect, it } from 'vitest'
import { Conversion, Numeral } from '../../../app/kinds/conversion.ts'

describe('Numeral', () => {
  it.each([1, -2.5e-7, '100.0001234', ' 1e-6 ', '+.5', '-3.', '0'])('takes %j', (value) => {
    expect(Numeral.safeParse(value).success).toBe(true)
  })

  it.each([
    '',
    'x',
    '1,5',
    '0x10',
    'Infinity',
    'NaN',
    '1e',
    '--1',
    null,
    true,
    Number.POSITIVE_INFINITY,
    Number.NaN,
  ])('refuses %j', (value) => {
    expect(Numeral.safeParse(value).success).toBe(false)
  })

  it('keeps text as it was written', () => {
    expect(Numeral.parse('100.000')).toBe('100.000')
  })
})

describe('Conversion', () => {
  it.each([
    { kind: 'its90', coefficients: { a: '-1.4e-4' } },
    {
      kind: 'its90',
      rWtp: '25.5',
      coefficients: { a: 0, b: 0 },
      joined: { subrange: '3.3.1.3', coefficients: { a: 0, b: 0 } },
    },
    { kind: 'iec60751' },
    { kind: 'callendar-van-dusen', r0: 100, a: 3.9e-3, b: -5.8e-7 },
    { kind: 'steinhart-hart', coefficients: [1e-3, 2e-4, 1e-7], powers: [0, 1, 3] },
    { kind: 'beta', r0: 1e4, beta: 3950 },
    { kind: 'thermocouple', type: 'K', deviation: [0, '1e-4'] },
    { kind: 'polynomial', coefficients: [0, 1], range: [0, 1] },
    { kind: 'table', x: [2, 1, 0], y: [0, 0, 1] },
  ])('takes %j and keeps it as it is', (conversion) => {
    expect(Conversion.parse(conversion)).toEqual(conversion)
  })

  it.each([
    ['a coefficient that no subrange has', { kind: 'its90', coefficients: { A: 1 } }, /Unrecognized key/],
    [
      'a section that is none',
      { kind: 'its90', subrange: '3.3.4', coefficients: { a: 1 } },
      /3\.3\.1\.1 to 3\.3\.1\.3/,
    ],
    ['R(WTP) of zero', { kind: 'its90', rWtp: 0, coefficients: { a: 1 } }, /greater than zero/],
    ['own coefficients left out', { kind: 'callendar-van-dusen', r0: 100, a: 1 }, /decimal text/],
    [
      'powers of another number',
      { kind: 'steinhart-hart', coefficients: [1, 2, 3], powers: [0, 1] },
      /one power/,
    ],
    ['a power twice', { kind: 'steinhart-hart', coefficients: [1, 2], powers: [1, 1] }, /once only/],
    ['a type that is none', { kind: 'thermocouple', type: 'Q' }, /one of B, E, J/],
    ['beta of zero', { kind: 'beta', r0: 1, beta: 0 }, /beta/],
    ['a temperature below absolute zero', { kind: 'beta', r0: 1, beta: 1, t0: -300 }, /absolute zero/],
    ['a table of unequal columns', { kind: 'table', x: [0, 1], y: [0] }, /y|same number/],
    ['a table whose x turns', { kind: 'table', x: [0, 1, 0.5], y: [0, 1, 2] }, /rise throughout/],
    ['a range upside down', { kind: 'iec60751', range: [100, 0] }, /lower to the higher/],
    [
      'a covariance without its rows',
      { kind: 'iec60751', covariance: { names: ['a', 'b'], matrix: [[1, 0]] } },
      /one row and one column/,
    ],
  ])('refuses %s', (_, conversion, words) => {
    const result = Conversion.safeParse(conversion)
    expect(result.success).toBe(false)
    expect(
      result.error?.issues.map((issue) => `${issue.path.join('.')} ${issue.message}`).join('; '),
    ).toMatch(words)
  })
})

describe('Covariance', () => {
  const its90 = (matrix: number[][]) =>
    Conversion.safeParse({
      kind: 'its90',
      coefficients: { a: 0, b: 0 },
      covariance: { names: ['a', 'b'], matrix },
    }).success

  it('takes a symmetric matrix, strongly correlated and rounded as it may be', () => {
    expect(
      its90([
        [4e-12, -1.99e-12],
        [-1.99e-12, 1e-12],
      ]),
    ).toBe(true)
    expect(
      its90([
        [4e-12, -2.01e-12],
        [-2.01e-12, 1e-12],
      ]),
    ).toBe(true)
    expect(
      its90([
        [0, 0],
        [0, 0],
      ]),
    ).toBe(true)
  })

  it.each([
    [
      'a correlation of 2',
      [
        [1e-12, 2e-12],
        [2e-12, 1e-12],
      ],
    ],
    [
      'a negative variance',
      [
        [-1e-12, 0],
        [0, 1e-12],
      ],
    ],
    [
      'sides that differ',
      [
        [1e-12, 5e-13],
        [-5e-13, 1e-12],
      ],
    ],
    ['a missing row', [[1e-12, 0]]],
  ])('refuses %s', (_what, matrix) => {
    expect(its90(matrix)).toBe(false)
  })
})
