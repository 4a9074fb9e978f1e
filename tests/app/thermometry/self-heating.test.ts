import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { selfHeating, zeroCurrentResistance } from '../../../app/thermometry/self-heating.ts'

describe('zeroCurrentResistance', () => {
  it('finds R(0) of R = R(0) + k I^2 for any two currents', () => {
    const current = fc.double({ min: 0.1, max: 20, noNaN: true })
    fc.assert(
      fc.property(current, current, fc.double({ min: 0, max: 1e-3, noNaN: true }), (i1, i2, k) => {
        fc.pre(Math.abs(i1 - i2) > 0.05)
        const at = (milliampere: number) => ({ milliampere, ohm: 25 + k * milliampere * milliampere })
        expect(zeroCurrentResistance(at(i1), at(i2)).ohm).toBeCloseTo(25, 8)
      }),
    )
  })

  it('has twice the uncertainty of the first reading and once that of the second at sqrt(2) I', () => {
    const { standardUncertainty, uHeatingOhm } = zeroCurrentResistance(
      { milliampere: 1, ohm: 25.5, u: 3e-6 },
      { milliampere: Math.SQRT2, ohm: 25.5002, u: 4e-6 },
    )
    expect(standardUncertainty).toBeCloseTo(Math.hypot(6e-6, 4e-6), 12)
    expect(uHeatingOhm).toBeCloseTo(5e-6, 12)
  })

  it.each([
    ['the same current twice', [1, 1], 'same-current'],
    ['a current of zero', [0, 1], 'not-positive'],
    ['a current that is no number', [Number.NaN, 1], 'not-finite'],
  ])('refuses %s', (_, [i1, i2], code) => {
    const at = (milliampere: number) => ({ milliampere, ohm: 25 })
    expect(() => zeroCurrentResistance(at(i1!), at(i2!))).toThrow(expect.objectContaining({ code }))
  })
})

describe('selfHeating', () => {
  const first = { milliampere: 1, ohm: 25.500312, u: 1e-6 }
  const second = { milliampere: Math.SQRT2, ohm: 25.500524, u: 1e-6 }

  it('judges whether the first and the repeated reading agree', () => {
    const near = selfHeating(first, second, 0.1017, { ...first, ohm: first.ohm + 2e-6 })
    expect(near.agrees).toBe(true)
    expect(near.returnMilliKelvin).toBeCloseTo(0.01967, 4)
    const far = selfHeating(first, second, 0.1017, { ...first, ohm: first.ohm + 2e-5 })
    expect(far.agrees).toBe(false)
    expect(
      selfHeating(first, second, 0.1017, { ...first, ohm: first.ohm + 2e-5 }, { milliKelvin: 0.5 }).agrees,
    ).toBe(true)
  })

  it('does not judge without a repeated reading, or without a limit', () => {
    expect(selfHeating(first, second, 0.1017).agrees).toBeUndefined()
    const { u: _, ...bare } = first
    expect(selfHeating(bare, second, 0.1017, bare).agrees).toBeUndefined()
  })

  it('cancels a drift that is even in time', () => {
    const drift = 1e-6
    const result = selfHeating(first, { ...second, ohm: second.ohm + drift }, 0.1017, {
      ...first,
      ohm: first.ohm + 2 * drift,
    })
    expect(result.milliKelvin).toBeCloseTo(selfHeating(first, second, 0.1017).milliKelvin, 9)
  })

  it('refuses a repeated reading at another current, and a slope of zero', () => {
    expect(() => selfHeating(first, second, 0.1, second)).toThrow(/first current/)
    expect(() => selfHeating(first, second, 0)).toThrow(/slope/)
  })
})
