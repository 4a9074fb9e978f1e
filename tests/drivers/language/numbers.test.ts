import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { printNumber, readNumber, timesPowerOfTen } from '../../../drivers/language/numbers.ts'

describe('readNumber', () => {
  it.each([
    ['4', 'NR1'],
    ['-128', 'NR1'],
    ['+0.25512345', 'NR2'],
    ['.5', 'NR2'],
    ['5.', 'NR2'],
    ['+1.234000E+00', 'NR3'],
    ['1e-3', 'NR3'],
    ['-0', 'NR1'],
  ])('keeps %s digit for digit as %s', (text, form) => {
    expect(readNumber(text)).toEqual({ kind: 'number', text, form })
  })

  it('tolerates padding, not more', () => {
    expect(readNumber('  +1.50 ')).toMatchObject({ text: '+1.50' })
    expect(readNumber('+ 1.50')).toMatchObject({ text: '+1.50' })
  })

  // SCPI-99 volume 1, 7.2.1.4 and 7.2.1.5 (9.9E37, 9.91E37), from memory.
  it.each([
    ['+9.9E+37', 'over-range'],
    ['9.9E37', 'over-range'],
    ['9.900000E+37', 'over-range'],
    ['1E38', 'over-range'],
    ['-9.9E+37', 'under-range'],
    ['+9.91E+37', 'not-a-number'],
    ['9.910000E37', 'not-a-number'],
    ['NAN', 'not-a-number'],
    ['INF', 'over-range'],
    ['NINF', 'under-range'],
  ])('makes %s the mark %s, never a value', (text, mark) => {
    expect(readNumber(text)).toEqual({ kind: 'special', mark })
  })

  it('takes for a special value what lies beside it within what printing rounds, and nothing else', () => {
    const mark = (value: number) => {
      const read = readNumber(value.toExponential(12))
      return read.kind === 'special' ? read.mark : read.kind
    }
    expect(mark(9.91e37 * (1 + 0.95e-6))).toBe('not-a-number')
    expect(mark(9.91e37 * (1 - 0.95e-6))).toBe('not-a-number')
    expect(mark(9.91e37 * (1 + 1.05e-6))).toBe('over-range')
    expect(mark(9.91e37 * (1 - 1.05e-6))).toBe('over-range')
    expect(mark(9.9e37 * (1 - 0.95e-9))).toBe('over-range')
    expect(mark(9.9e37 * (1 - 1.05e-9))).toBe('number')
    expect(mark(-9.9e37 * (1 - 1.05e-9))).toBe('number')
    // The number that stands for none has no negative.
    expect(mark(-9.91e37)).toBe('under-range')
    // Written without an exponent it is as large.
    expect(readNumber('9'.repeat(38))).toEqual({ kind: 'special', mark: 'over-range' })
    expect(readNumber('9'.repeat(37))).toMatchObject({ kind: 'number' })
  })

  it.each([
    '',
    ' ',
    '+',
    '.',
    'e5',
    '1e',
    '1e+',
    '1.2.3',
    '1,5',
    '0x10',
    'OL',
    '1 2',
    '--1',
    '1.5V',
    '1e5.0',
    'Infinity5',
  ])('does not read %j as a number', (text) => expect(readNumber(text).kind).toBe('unreadable'))

  it('reads back every number that is printed, in each form', () => {
    const number = fc.double({ min: -1e30, max: 1e30, noNaN: true })
    fc.assert(
      fc.property(number, fc.integer({ min: 1, max: 15 }), (value, significant) => {
        const read = readNumber(printNumber(value, { significant }))
        expect(read).toMatchObject({ kind: 'number', form: 'NR3' })
        const text = read.kind === 'number' ? read.text : ''
        expect(Number(text)).toBe(Number(value.toPrecision(significant)))
        expect(readNumber(printNumber(value, {}))).toMatchObject({ kind: 'number' })
      }),
      { numRuns: 10_000 },
    )
  })

  it('agrees with the grammar of 488.2 on any text', () => {
    const grammar = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/
    const texts = fc.string({ unit: fc.constantFrom(...'0123456789+-.eE'), maxLength: 9 })
    fc.assert(
      fc.property(texts, (text) => {
        expect(readNumber(text).kind !== 'unreadable').toBe(grammar.test(text))
      }),
      { numRuns: 10_000 },
    )
  })
})

describe('timesPowerOfTen', () => {
  it('moves the exponent and leaves every digit', () => {
    expect(timesPowerOfTen('+1.0000', 3)).toBe('+1.0000E3')
    expect(timesPowerOfTen('1.50E-03', 3)).toBe('1.50')
    expect(timesPowerOfTen('1.50E-03', -3)).toBe('1.50E-6')
    expect(timesPowerOfTen('007', 0)).toBe('007')
  })

  it('is undone by the opposite power', () => {
    fc.assert(
      fc.property(
        fc.double({ noNaN: true, noDefaultInfinity: true }),
        fc.integer({ min: -12, max: 12 }),
        (value, power) => {
          const there = timesPowerOfTen(String(value), power)
          expect(Number(timesPowerOfTen(there, -power)) === value).toBe(true)
        },
      ),
    )
  })
})

describe('printNumber', () => {
  it('prints what each instrument of the lab wants', () => {
    expect(printNumber(1, { power: -3, significant: 7 })).toBe('1.000000E-3')
    expect(printNumber(37.5, { decimals: 2, comma: true })).toBe('37,50')
    expect(printNumber(0.5, { power: 3, decimals: 0, width: 4 })).toBe('0500')
    expect(printNumber(-0.5, { decimals: 1, width: 3 })).toBe('-000.5')
    expect(printNumber(4, { decimals: 0 })).toBe('4')
  })

  it('refuses what is not a number', () => {
    expect(() => printNumber(Number.NaN, {})).toThrow(RangeError)
  })
})
