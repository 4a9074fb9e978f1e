import { describe, expect, it } from 'vitest'
import { chiSquaredQuantile } from '../../../app/statistics/chi-squared.ts'
import { weightedMean } from '../../../app/statistics/weighted-mean.ts'
import { randomStream } from '../../../simulator/physics/randomness.ts'

describe('chiSquaredQuantile', () => {
  // NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4, upper-tail critical values (from memory).
  it.each([
    [0.95, 1, 3.841],
    [0.95, 2, 5.991],
    [0.95, 3, 7.815],
    [0.95, 10, 18.307],
    [0.99, 1, 6.635],
    [0.99, 5, 15.086],
    [0.95, 100, 124.342],
  ])('is that of the table at %f and %i degrees of freedom', (p, dof, value) => {
    expect(chiSquaredQuantile(p, dof)).toBeCloseTo(value, 3)
  })

  it('is exact where it has a closed form: -2 ln(1 - p) at two degrees of freedom', () => {
    for (const p of [0.01, 0.5, 0.999]) expect(chiSquaredQuantile(p, 2)).toBeCloseTo(-2 * Math.log(1 - p), 9)
    expect(() => chiSquaredQuantile(1, 2)).toThrow(RangeError)
  })
})

describe('weightedMean', () => {
  it('weighs by the inverse squares where nothing is shared', () => {
    const found = weightedMean(
      [10, 13],
      [
        [1, 0],
        [0, 4],
      ],
    )
    expect(found.mean).toBeCloseTo(10.6, 12)
    expect(found.u).toBeCloseTo(Math.sqrt(0.8), 12)
    expect(found.chiSquared).toBeCloseTo(9 / 5, 12)
    expect(found.consistent).toBe(true)
  })

  it('is the value itself where there is only one, which agrees with all there is', () => {
    expect(weightedMean([7], [[4]])).toEqual({
      ...{ mean: 7, weights: [1], u: 2, chiSquared: 0, degreesOfFreedom: 0 },
      ...{ limit: Number.POSITIVE_INFINITY, consistent: true },
    })
  })

  it('gains nothing on what all values share', () => {
    const found = weightedMean(
      [5, 5.1],
      [
        [1.01, 1],
        [1, 1.01],
      ],
    )
    expect(found.u).toBeCloseTo(Math.sqrt(1.005), 9)
    // The shared part does not make values agree that are apart by much more than their own.
    expect(found.chiSquared).toBeCloseTo(0.1 ** 2 / 0.02, 9)
  })

  it('finds 1 in 20 inconsistent where the covariance tells the truth', () => {
    const random = randomStream(5, 'references')
    let refused = 0
    for (let k = 0; k < 4000; k++) {
      const shared = random.normal()
      const values = [shared + 0.5 * random.normal(), shared + random.normal(), shared + 2 * random.normal()]
      const covariance = [0.25, 1, 4].map((own, i) => [0, 1, 2].map((j) => 1 + (i === j ? own : 0)))
      if (!weightedMean(values, covariance).consistent) refused++
    }
    expect(refused / 4000).toBeGreaterThan(0.035)
    expect(refused / 4000).toBeLessThan(0.065)
  })

  it('refuses a covariance that is none', () => {
    expect(() =>
      weightedMean(
        [1, 2],
        [
          [1, 2],
          [2, 1],
        ],
      ),
    ).toThrow(/not positive definite/)
  })
})
