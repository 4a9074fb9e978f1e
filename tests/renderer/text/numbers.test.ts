import fc from 'fast-check'
import { afterEach, describe, expect, it } from 'vitest'
import {
  bytes,
  CELSIUS_UNITS,
  fixed,
  printed,
  readDecimalText,
  readNumber,
  SECOND_UNITS,
  setDecimalSign,
  significant,
} from '../../../renderer/text/numbers.ts'

afterEach(() => setDecimalSign('.'))

describe('readNumber', () => {
  it('takes comma and point, true and plain minus, spaces and units', () => {
    expect(readNumber('99,974')).toBe(99.974)
    expect(readNumber(' 1 234.5 ')).toBe(1234.5)
    expect(readNumber('\u221238.8344 \u00b0C', CELSIUS_UNITS)).toBe(-38.8344)
    expect(readNumber('90 min', SECOND_UNITS)).toBe(5400)
    expect(readNumber('1.5e-3')).toBe(0.0015)
    expect(readNumber(',5')).toBe(0.5)
  })

  it('refuses words, two signs and units that do not belong', () => {
    for (const text of ['', 'warm', '1,2,3', '--1', '5 kg', '1e', '1.2.3'])
      expect(readNumber(text, SECOND_UNITS), text).toBeUndefined()
  })

  it('reads back what fixed writes, with either decimal sign', () => {
    fc.assert(
      fc.property(fc.double({ min: -1e7, max: 1e7, noNaN: true }), fc.boolean(), (value, comma) => {
        setDecimalSign(comma ? ',' : '.')
        expect(readNumber(fixed(value, 6))).toBeCloseTo(value, 5)
      }),
    )
  })
})

describe('readDecimalText', () => {
  it('keeps every digit of a certificate', () => {
    expect(readDecimalText('100,005180000')).toBe('100.005180000')
    expect(readDecimalText('\u22125,775e-7')).toBe('-5.775e-7')
    expect(readDecimalText('1.2 ohm')).toBeUndefined()
  })
})

describe('fixed', () => {
  it('writes a true minus, groups long whole parts and shows no negative zero', () => {
    expect(fixed(-0.0004, 3)).toBe('0.000')
    expect(fixed(-12.5, 1)).toBe('\u221212.5')
    expect(fixed(1382400, 0)).toBe('1\u2009382\u2009400')
    expect(fixed(Number.NaN, 2)).toBe('\u2013')
  })
})

describe('significant', () => {
  it('uses powers of ten only where plain decimals would be long', () => {
    expect(significant(0.00062, 2)).toBe('0.00062')
    expect(significant(-5.7749e-7, 5)).toBe('\u22125.7749\u00d710\u207b\u2077')
    expect(significant(0.0039083, 5, -2)).toBe('3.9083\u00d710\u207b\u00b3')
    expect(significant(0)).toBe('0')
  })
})

describe('printed', () => {
  it('keeps every digit, with a true minus and powers of ten as they are written by hand', () => {
    expect(printed('-3e-8')).toBe('−3×10⁻⁸')
    expect(printed('9999.888758')).toBe('9999.888758')
    expect(printed('-1.50E+3')).toBe('−1.50×10³')
  })
})

describe('bytes', () => {
  it('leaves one to three digits', () => {
    expect(bytes(999)).toBe('999 B')
    expect(bytes(6_300_000)).toBe('6.3 MB')
    expect(bytes(212e9)).toBe('212 GB')
  })
})
