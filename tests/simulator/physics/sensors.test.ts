import { describe, expect, it } from 'vitest'
import { its90Resistance, referenceRatio, referenceSlope } from '../../../simulator/physics/platinum.ts'
import { resistanceOf, voltageOf } from '../../../simulator/physics/sensors.ts'

describe('referenceRatio', () => {
  // Source: The International Temperature Scale of 1990, Metrologia 27, 3-10 and 107 (1990), table 1.
  const table = [
    [-189.3442, 0.21585975],
    [-38.8344, 0.84414211],
    [0.01, 1],
    [29.7646, 1.11813889],
    [156.5985, 1.60980185],
    [231.928, 1.89279768],
    [419.527, 2.5689173],
    [660.323, 3.3760086],
    [961.78, 4.28642053],
  ] as const
  for (const [celsius, wr] of table) {
    it(`rounds to table 1 at ${celsius} degC`, () => {
      // At the triple point of water the two functions themselves are up to 1e-8 from 1.
      expect(Math.abs(referenceRatio(celsius) - wr)).toBeLessThan(celsius === 0.01 ? 1.1e-8 : 6e-9)
    })
  }

  it('has the slope 0.003988528 per kelvin at the triple point of water', () => {
    // Computed with 60 digits from the same published function.
    expect(referenceSlope(0.01)).toBeCloseTo(0.003988528, 6)
  })
})

describe('its90Resistance', () => {
  it('satisfies W - Wr = a (W - 1) + b (W - 1)^2', () => {
    const deviation = { rWtp: 25.5, a: -2e-4, b: -1e-5 }
    const w = its90Resistance(deviation, 156.5985) / 25.5
    const wr = referenceRatio(156.5985)
    expect(w - wr).toBeCloseTo(-2e-4 * (w - 1) - 1e-5 * (w - 1) ** 2, 14)
  })
})

describe('resistanceOf', () => {
  it('agrees with the table of IEC 60751 for the standard coefficients', () => {
    // Source: IEC 60751, table of the 100 ohm thermometer (two decimals).
    const curve = { kind: 'callendar-van-dusen', r0: 100, a: 3.9083e-3, b: -5.775e-7, c: -4.183e-12 } as const
    for (const [celsius, ohm] of [
      [-100, 60.26],
      [0, 100],
      [100, 138.51],
      [200, 175.86],
    ] as const) {
      expect(resistanceOf(curve, celsius)).toBeCloseTo(ohm, 2)
    }
  })

  it('solves the Steinhart-Hart equation it is given', () => {
    const [a, b, c] = [1.13e-3, 2.35e-4, 8.8e-8]
    const ohm = resistanceOf({ kind: 'steinhart-hart', coefficients: [a, b, c] }, 60)!
    const ln = Math.log(ohm)
    expect(1 / (a + b * ln + c * ln ** 3) - 273.15).toBeCloseTo(60, 9)
  })
})

describe('voltageOf', () => {
  it('agrees with the ITS-90 table of type T', () => {
    // Source: NIST Monograph 175, type T, reference junction at 0 degC, mV to three decimals.
    const curve = { kind: 'thermocouple-t', deviation: [0] } as const
    for (const [celsius, mv] of [
      [-40, -1.475],
      [25, 0.992],
      [90, 3.814],
      [220, 10.362],
      [400, 20.872],
    ] as const) {
      expect(Math.abs(voltageOf(curve, celsius, 0) - mv)).toBeLessThan(6e-4)
    }
  })

  it('vanishes when both junctions are alike', () => {
    expect(voltageOf({ kind: 'thermocouple-t', deviation: [0, 1e-4] }, 30, 30)).toBe(0)
  })
})
