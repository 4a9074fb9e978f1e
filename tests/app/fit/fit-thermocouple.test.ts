import { describe, expect, it } from 'vitest'
import { fitThermometer } from '../../../app/fit/fit.ts'
import { prepare } from '../../../app/thermometry/convert.ts'
import { thermocoupleEmf } from '../../../app/thermometry/thermocouple.ts'

const TRUE_DEVIATION = [0.003, 4e-5, 2e-7]
const emfAt = (t: number) =>
  thermocoupleEmf('T', t) + TRUE_DEVIATION.reduce((sum, d, k) => sum + d * t ** k, 0)
const pointsAt = (temperatures: readonly number[], more: { uT?: number; uSignal?: number } = {}) =>
  temperatures.map((t90C) => ({ t90C, signal: emfAt(t90C), ...more }))

describe('fitThermocouple', () => {
  it('finds the deviation from the reference function, and gives temperatures back between the points', () => {
    const fit = fitThermometer({
      model: { kind: 'thermocouple', type: 'T', degree: 2 },
      points: pointsAt([0, 25, 50, 75, 100]),
    })
    expect(fit.coefficients['1']! / TRUE_DEVIATION[1]!).toBeCloseTo(1, 6)
    expect(fit.coefficients['2']! / TRUE_DEVIATION[2]!).toBeCloseTo(1, 6)
    const prepared = prepare(fit.conversion)
    for (let t = 0; t <= 100; t += 10) {
      expect(Math.abs(prepared.toTemperature(emfAt(t)).value - t)).toBeLessThan(1e-6)
    }
    expect(Math.max(...fit.residualsK.map(Math.abs))).toBeLessThan(1e-6)
  })

  it('stays within a millikelvin of a bent function with few points, where a plain polynomial of the same degree misses by far', () => {
    const points = pointsAt([0, 25, 50, 75, 100])
    const worst = (model: Parameters<typeof fitThermometer>[0]['model']) =>
      Math.max(...fitThermometer({ model, points }).residualsK.map(Math.abs))
    expect(worst({ kind: 'thermocouple', type: 'T', degree: 1 })).toBeLessThan(0.02)
    expect(worst({ kind: 'thermocouple', type: 'T', degree: 2 })).toBeLessThan(1e-6)
    expect(worst({ kind: 'polynomial', degree: 2, signal: 'voltage' })).toBeGreaterThan(0.02)
  })

  it('states uncertainties that follow from those of the points', () => {
    const fit = fitThermometer({
      model: { kind: 'thermocouple', type: 'T', degree: 1 },
      points: pointsAt([0, 50, 100], { uT: 0.01, uSignal: 0.0004 }),
    })
    expect(fit.covarianceFrom).toBe('uncertainties')
    // The middle of a straight line through three points of about the same weight: u / sqrt(3).
    const one = Math.hypot(0.01, 0.0004 / 0.0423)
    expect(fit.temperatureUncertainty(50) / (one / Math.sqrt(3))).toBeCloseTo(1, 1)
  })

  it('refuses a point outside the range of the type, and too few of them', () => {
    const model = { kind: 'thermocouple', type: 'T', degree: 1 } as const
    expect(() =>
      fitThermometer({ model, points: [...pointsAt([0, 50]), { t90C: 450, signal: 24 }] }),
    ).toThrow('outside the reference function of type T')
    expect(() => fitThermometer({ model, points: pointsAt([20]) })).toThrow()
  })
})
