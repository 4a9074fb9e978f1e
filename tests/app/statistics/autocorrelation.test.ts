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
  it('stops where it is told that enough is known, and says the same below it', () => {
    const random = seededRandom(9)
    let last = 0
    const d = deviations(
      Array.from({ length: 500 }, () => {
        last = 0.9 * last + random.normal()
        return last
      }),
    )
    const whole = varianceInflation(d, 2)
    expect(whole).toBeGreaterThan(6)
    for (const enough of [1, 2, 5, 0.99 * whole]) {
      const bound = varianceInflation(d, 2, undefined, enough)
      expect(bound).toBeGreaterThan(enough)
      expect(bound).toBeLessThanOrEqual(whole)
    }
    expect(varianceInflation(d, 2, undefined, 1.01 * whole)).toBe(whole)
  })

  it.each([
    ['a slow wave under noise', 3000, 2900, 3],
    ['a wave that fills the record', 2000, 2000, 0.1],
    ['a wave of five hundred values', 1000, 500, 2],
  ])('takes far lags at growing distances and still sums %s as by hand', (_, n, period, noise) => {
    const random = seededRandom(6)
    const d = deviations(
      Array.from(
        { length: n },
        (__, i) => 3 * Math.cos((2 * Math.PI * i) / period) + noise * random.normal(),
      ),
    )
    let byHand = 1
    let lag = 1
    for (; autocorrelationAt(d, lag) > 0; lag++) byHand += 2 * (1 - lag / n) * autocorrelationAt(d, lag)
    expect(lag).toBeGreaterThan(60)
    // Where the first-order estimate is the larger of the two it is the one that is given.
    const r = autocorrelationAt(d, 1)
    const rho = Math.min(1 - 1 / n, r + (1 + 3 * r) / n)
    const firstOrder = 1 + ((2 * rho) / (1 - rho)) * (1 - (1 - rho ** n) / (n * (1 - rho)))
    expect(varianceInflation(d) / Math.max(byHand, firstOrder)).toBeCloseTo(1, 1.7)
  })
  it('sums every lag where they are few', () => {
    const d = deviations([1, 2, 4, 3, 1, 0, 1, 2, 5, 6, 5, 3])
    let byHand = 1
    for (let lag = 1; autocorrelationAt(d, lag) > 0; lag++)
      byHand += 2 * (1 - lag / 12) * autocorrelationAt(d, lag)
    expect(varianceInflation(d)).toBeGreaterThanOrEqual(byHand - 1e-12)
  })
  it('never says that there are more independent values than values', () => {
    expect(varianceInflation(deviations([1, -1, 1, -1, 1]))).toBe(1)
    expect(varianceInflation(deviations([2, 2, 2]))).toBe(1)
  })
  it('refuses a single value', () => {
    expect(() => varianceInflation(Float64Array.of(0))).toThrow('at least two')
  })
})
