import { describe, expect, it } from 'vitest'
import { fixedPoint, fixedPointTemperature } from '../../../app/thermometry/fixed-points.ts'

describe('fixedPoint', () => {
  it('refuses a name that is none, and gives the names that are', () => {
    expect(() => fixedPoint('Pb')).toThrow(/e-H2, Ne, O2/)
  })
})

describe('fixedPointTemperature', () => {
  it('adds head and pressure, worked by hand', () => {
    // Zinc at 0.18 m and 100 kPa: 419.527 + 2.7e-3 x 0.18 - 4.3e-8 x 1325.
    expect(fixedPointTemperature('Zn', 0.18, 100_000)).toBeCloseTo(419.527 + 4.86e-4 - 5.6975e-5, 12)
  })

  it.each([
    ['a negative depth', -0.1, 101_325, 'outside-range'],
    ['a negative pressure', 0.1, -1, 'outside-range'],
    ['a depth that is no number', Number.NaN, 101_325, 'not-finite'],
  ])('refuses %s', (_, depth, pressure, code) => {
    expect(() => fixedPointTemperature('Zn', depth, pressure)).toThrow(expect.objectContaining({ code }))
  })
})
