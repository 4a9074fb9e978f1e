import { describe, expect, it } from 'vitest'
import { temperatureCoefficients } from '../../../app/checks/resistor-temperature.ts'

/** R(t) of a resistor of 100 ohm at 20 degC with alpha 2E-6 and beta -5E-7. */
const ohmAt = (celsius: number) => 100 * (1 + 2e-6 * (celsius - 20) - 5e-7 * (celsius - 20) ** 2)
const at = (celsius: number, offRelative = 0, uRelative = 1e-7) => ({
  celsius,
  ohm: ohmAt(celsius) * (1 + offRelative),
  uRelative,
})

describe('temperatureCoefficients', () => {
  it('finds alpha and beta again, at whichever reference temperature', () => {
    const found = temperatureCoefficients([at(18), at(20), at(23), at(26)], 20)
    expect(found.ohm).toBeCloseTo(100, 9)
    expect(found.alphaPerK).toBeCloseTo(2e-6, 12)
    expect(found.betaPerK2).toBeCloseTo(-5e-7, 12)
    expect(found.degreesOfFreedom).toBe(1)
    // About 23 degC the slope is alpha + 2 beta 3 K.
    const other = temperatureCoefficients([at(18), at(20), at(23), at(26)], 23)
    expect(other.ohm).toBeCloseTo(ohmAt(23), 9)
    expect(other.alphaPerK).toBeCloseTo(2e-6 - 6 * 5e-7, 11)
  })

  it('has alpha alone of two temperatures: the slope of a line, with the uncertainty of its ends', () => {
    const found = temperatureCoefficients([at(18), at(22)], 20)
    expect(found.alphaPerK).toBeCloseTo(2e-6, 11)
    expect([found.betaPerK2, found.uBetaPerK2, found.degreesOfFreedom]).toEqual([0, 0, 0])
    // Two ends, each known to 1E-7, 4 K apart; their mean lies at the reference temperature.
    expect(found.uAlphaPerK).toBeCloseTo((1e-7 * Math.SQRT2) / 4, 12)
    expect(found.uRelative).toBeCloseTo(1e-7 / Math.SQRT2, 12)
    // Within 0.05 K two temperatures are one.
    expect(temperatureCoefficients([at(18), at(18.04), at(22)], 20).betaPerK2).toBe(0)
    expect(temperatureCoefficients([at(18), at(18.06), at(22)], 20).betaPerK2).not.toBe(0)
    expect(() => temperatureCoefficients([at(18), at(18.04)], 20)).toThrow(/temperatures/)
  })

  it('is less certain where the values scatter more than they state, and never more', () => {
    const pair = (off: number) =>
      temperatureCoefficients([at(18, off), at(18, -off), at(22, off), at(22, -off)], 20)
    // Four values with sum of squares 4 off^2 in u^2, two degrees of freedom: the root of 2 (off/u)^2.
    expect(pair(3e-7).uAlphaPerK / pair(0).uAlphaPerK).toBeCloseTo(Math.sqrt(2) * 3, 4)
    expect(pair(0.5e-7).uAlphaPerK / pair(0).uAlphaPerK).toBeCloseTo(1, 4)
    expect(pair(3e-7).uRelative / pair(0).uRelative).toBeCloseTo(Math.sqrt(2) * 3, 4)
  })
})
