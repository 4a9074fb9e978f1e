import { describe, expect, it } from 'vitest'
import { autocorrelationAt, varianceInflation } from '../../../app/statistics/autocorrelation.ts'
import { seededRandom } from '../../../app/statistics/random.ts'

function deviations(values: readonly number[]): Float64Array {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length
  return Float64Array.from(values, (value) => value - mean)
}

describe('autocorrelationAt', () => {
  it('is 1 at lag 0 and the textbook sum elsewhere', () => {
    const d = deviations([1, 2, 4, 8])
    expect(autocorrelationAt(d, 0)).toBe(1)
    const squares = d.reduce((sum, x) => sum + x * x, 0)
    expect(autocorrelationAt(d, 1)).toBeCloseTo((d[0]! * d[1]! + d[1]! * d[2]! + d[2]! * d[3]!) / squares, 15)
  })
  it('makes up for pairs that are broken by a gap', () => {
    const random = seededRandom(5)
    let x = 0
    const values = Array.from({ length: 4000 }, () => {
      x = 0.8 * x + random.normal()
      return x
    })
    const kept = Uint8Array.from(values, (_, i) => (i % 10 === 3 ? 0 : 1))
    const d = deviations(values).map((value, i) => value * kept[i]!)
    expect(autocorrelationAt(d, 1, kept)).toBeGreaterThan(0.77)
    expect(autocorrelationAt(d, 1, kept)).toBeLessThan(0.83)
  })
})

describe('varianceInflation', () => {
  it('is the same by sums and by the Fourier transform where lags run far', () => {
    // A slow wave keeps the coefficients above zero for 125 lags; the sum by hand is the first estimate.
    const wave = Array.from({ length: 1000 }, (_, i) => Math.cos((2 * Math.PI * i) / 500))
    const d = deviations(wave)
    let byHand = 1
    for (let lag = 1; autocorrelationAt(d, lag) > 0; lag++)
      byHand += 2 * (1 - lag / 1000) * autocorrelationAt(d, lag)
    expect(byHand).toBeGreaterThan(97)
    // The other estimate, from lag 1 alone, is larger here; the transform is seen by making it smaller.
    const noisy = wave.map((value, i) => value + (i % 2 === 0 ? 1.2 : -1.2))
    const e = deviations(noisy)
    let noisyByHand = 1
    for (let lag = 1; autocorrelationAt(e, lag) > 0; lag++) {
      noisyByHand += 2 * (1 - lag / 1000) * autocorrelationAt(e, lag)
    }
    expect(varianceInflation(e)).toBeCloseTo(Math.max(1, noisyByHand), 9)
    expect(varianceInflation(d)).toBeGreaterThanOrEqual(byHand - 1e-9)
  })
  it('sums a slow wave under noise through the transform as by hand', () => {
    const random = seededRandom(6)
    const values = Array.from(
      { length: 3000 },
      (_, i) => 3 * Math.cos((2 * Math.PI * i) / 2900) + 3 * random.normal(),
    )
    const d = deviations(values)
    let byHand = 1
    let lag = 1
    for (; autocorrelationAt(d, lag) > 0; lag++) byHand += 2 * (1 - lag / 3000) * autocorrelationAt(d, lag)
    expect(lag).toBeGreaterThan(97)
    expect(varianceInflation(d)).toBeCloseTo(byHand, 8)
  })
  it('never says that there are more independent values than values', () => {
    expect(varianceInflation(deviations([1, -1, 1, -1, 1]))).toBe(1)
    expect(varianceInflation(deviations([2, 2, 2]))).toBe(1)
  })
  it('refuses a single value', () => {
    expect(() => varianceInflation(Float64Array.of(0))).toThrow('at least two')
  })
})
