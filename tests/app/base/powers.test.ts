import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { decimalsOfStep, lowered, powerOfTen, superscript } from '../../../app/base/powers.ts'

describe('powerOfTen', () => {
  it('meets whole powers exactly, where a logarithm misses some', () => {
    for (let power = -300; power <= 300; power++) expect(powerOfTen(Number(`1e${power}`))).toBe(power)
    expect(powerOfTen(0)).toBe(0)
    expect(powerOfTen(-0.0012)).toBe(-3)
    expect([Number.NaN, Number.POSITIVE_INFINITY].map(powerOfTen)).toEqual([0, 0])
  })

  it('leaves one digit before the decimal sign', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-12, max: 1e12, noNaN: true }), (value) => {
        const mantissa = value / 10 ** powerOfTen(value)
        expect(mantissa).toBeGreaterThan(0.999999999)
        expect(mantissa).toBeLessThan(10.00000001)
      }),
    )
  })
})

describe('decimalsOfStep', () => {
  it('is what neighbouring labels need to differ and to be exact', () => {
    expect([5, 0.5, 0.05, 0.25, 0.125, 20].map((step) => decimalsOfStep(step))).toEqual([0, 1, 2, 2, 3, 0])
    expect(decimalsOfStep(0.2 + 0.1)).toBe(1)
    expect(decimalsOfStep(1 / 3, 6)).toBe(6)
    expect(decimalsOfStep(1 / 3)).toBe(9)
    expect(decimalsOfStep(-0.25)).toBe(2)
    expect(decimalsOfStep(0)).toBe(0)
    expect(decimalsOfStep(Number.POSITIVE_INFINITY)).toBe(0)
  })
})

describe('superscript', () => {
  it('and lowered are each other\u2019s way back', () => {
    expect(superscript(-12)).toBe('\u207b\u00b9\u00b2')
    expect(lowered(superscript(-3456789))).toBe('-3456789')
  })
})
