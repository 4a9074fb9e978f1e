import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  freedomText,
  lastPlace,
  plainUncertainty,
  printed,
  roundedUncertainty,
  roundedValue,
  toPlace,
} from '../../../app/base/rounding.ts'

describe('roundedUncertainty', () => {
  it('keeps two significant digits', () => {
    expect(roundedUncertainty(3.449)).toBe('3.4')
    expect(roundedUncertainty(0.0996)).toBe('0.10')
    expect(roundedUncertainty(340.4)).toBe('340')
    expect(roundedUncertainty(2.36e-7)).toBe('2.4e-7')
    expect(roundedUncertainty(0)).toBe('0')
  })
})

describe('roundedValue', () => {
  it('ends at the place of its uncertainty, as JCGM 100:2008, 7.2.6, asks', () => {
    expect(roundedValue(10.05762, 0.027)).toBe('10.058')
    expect(roundedValue(100.02147, 0.00035)).toBe('100.02147')
    expect(roundedValue(1234.5, 120)).toBe('1230')
    expect(roundedValue(-0.0004, 0.012)).toBe('0.000')
  })

  it('is none where there is no number', () => {
    for (const value of [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, Number.NaN])
      for (const u of [1e-9, 0.1, 0, Number.NaN]) expect(roundedValue(value, u)).toBe('none')
    expect(roundedUncertainty(Number.POSITIVE_INFINITY)).toBe('none')
    expect(roundedUncertainty(Number.NaN)).toBe('none')
    expect(roundedUncertainty(-1)).toBe('none')
  })

  it('turns to powers of ten for small coefficients', () => {
    expect(roundedValue(-5.7751234e-7, 2.1e-9, 3)).toBe('-5.775123e-7')
    // From below a hundredth and from ten million on, and only with more than six places.
    expect(roundedValue(0.01, 1e-9)).toBe('0.0100000000')
    expect(roundedValue(0.0099, 1e-9)).toBe('9.9000000e-3')
    expect(roundedValue(0.001, 1e-5)).toBe('0.001000')
    expect(roundedValue(0.001, 1e-6)).toBe('1.0000e-3')
    expect(roundedValue(9_999_999, 1e-6)).toBe('9999999.0000000')
    expect(roundedValue(1e7, 1e-6)).toBe('1.00000000000000e7')
    expect(roundedValue(0, 1e-9)).toBe('0.0000000000')
    expect(roundedUncertainty(1e-4)).toBe('0.00010')
    expect(roundedUncertainty(9.9e-5)).toBe('9.9e-5')
    expect(roundedUncertainty(999_999)).toBe('1000000')
    expect(roundedUncertainty(1e6)).toBe('1.0e6')
  })

  it('has nine digits where there is no uncertainty', () => {
    expect(roundedValue(0, 0)).toBe('0')
    expect(roundedValue(100, 0)).toBe('100.000000')
    expect(roundedValue(1 / 3, Number.NaN)).toBe('0.333333333')
  })

  it('is never off by more than half its last place', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e4, max: 1e4, noNaN: true }),
        fc.double({ min: 1e-6, max: 10, noNaN: true }),
        (value, u) => {
          const place = lastPlace(u)
          return Math.abs(Number(roundedValue(value, u)) - value) <= 0.5000001 * 10 ** place
        },
      ),
    )
  })
})

describe('plainUncertainty', () => {
  it('has no power of ten', () => {
    expect(plainUncertainty(1.97e-5)).toBe('0.000020')
  })
})

describe('toPlace', () => {
  it('drops the sign of zero', () => {
    expect(toPlace(-0.001, -1)).toBe('0.0')
  })
})

describe('freedomText', () => {
  it('truncates to the next lower integer', () => {
    expect(freedomText(16.9)).toBe('16')
    expect(freedomText(Number.POSITIVE_INFINITY)).toBe('∞')
  })
})

describe('printed', () => {
  it('has a true minus sign, powers of ten and the decimal sign asked for', () => {
    expect(printed('-5.77512e-7')).toBe('−5.77512 × 10⁻⁷')
    expect(printed('100.02', ',')).toBe('100,02')
    expect(printed('none')).toBe('none')
  })
})
