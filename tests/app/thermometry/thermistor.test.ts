import { describe, expect, it } from 'vitest'
import {
  betaTemperature,
  defaultPowers,
  thermistorResistance,
  thermistorTemperature,
} from '../../../app/thermometry/thermistor.ts'

describe('defaultPowers', () => {
  it('are 0, 1, 3 for three coefficients and a full polynomial for any other number', () => {
    expect([2, 3, 4, 5].map(defaultPowers)).toEqual([
      [0, 1],
      [0, 1, 3],
      [0, 1, 2, 3],
      [0, 1, 2, 3, 4],
    ])
  })
})

describe('thermistorTemperature', () => {
  it('gives NaN where 1/T is not positive', () => {
    expect(thermistorTemperature([-1, 1e-4], 100)).toBeNaN()
    expect(thermistorTemperature([1e-3, 2e-4], -100)).toBeNaN()
    expect(thermistorTemperature([1e-3, 2e-4], 0)).toBeNaN()
    expect(betaTemperature(1e4, 25, 3950, -1)).toBeNaN()
  })
})

describe('thermistorResistance', () => {
  it('comes back, with NaN, where no resistance gives the temperature', () => {
    expect(thermistorResistance([1e-3, 0, 1e-5], 1e6)).toBeNaN()
    expect(thermistorResistance([1e-3, 0], 20)).toBeNaN()
  })

  it('finds a root that Newton from a typical resistance does not settle on', () => {
    const ascending = [5e-3, -1.2e-3, 0, 1e-5]
    const ohm = thermistorResistance(ascending, 20)
    if (!Number.isNaN(ohm)) expect(thermistorTemperature(ascending, ohm)).toBeCloseTo(20, 8)
  })
})
