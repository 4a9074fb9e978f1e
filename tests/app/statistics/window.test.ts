import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '../../../app/statistics/random.ts'
import { tQuantile } from '../../../app/statistics/student-t.ts'
import { describeDrift, describeSamples, describeWindow } from '../../../app/statistics/window.ts'

describe('describeWindow', () => {
  it('gives a hand-worked case', () => {
    const found = describeWindow([1, 2, 3, 4, 7], 2)
    expect(found.mean).toBeCloseTo(3.4, 15)
    expect(found.sd).toBeCloseTo(Math.sqrt(5.3), 14)
    // Σ(t − t̄)(x − x̄) = 28 over Σ(t − t̄)² = 40
    expect(found.drift).toBeCloseTo(0.7, 14)
    expect(found.sdAboutLine).toBeCloseTo(Math.sqrt(1.6 / 3), 14)
    expect(found.lag1).toBeCloseTo((-2.4 * -1.4 + -1.4 * -0.4 + -0.4 * 0.6 + 0.6 * 3.6) / 21.2, 14)
    expect(found).toMatchObject({ n: 5, leftOut: 0, minimum: 1, maximum: 7, span: 6, durationS: 8 })
  })
  it('keeps the small parts of a sum beside large ones that cancel', () => {
    // In plain doubles 1e16 + 1 is 1e16 again: of the three ones none would be left.
    expect(describeWindow([1e16, 1, 1, 1, -1e16, 0], 1).mean).toBe(0.5)
    expect(describeWindow([1, 1e16, 1, -1e16, 1, 0], 1).mean).toBe(0.5)
  })
  it('knows the mean of one value and nothing else', () => {
    expect(describeWindow([5], 1)).toMatchObject({
      n: 1,
      mean: 5,
      sd: Number.NaN,
      lag1: Number.NaN,
      drift: Number.NaN,
    })
  })
  it('gives the drift of two values without an uncertainty', () => {
    expect(describeWindow([1, 2], 4)).toMatchObject({
      drift: 0.25,
      driftUncertainty: Number.NaN,
      driftDegreesOfFreedom: 0,
    })
  })
  it('finds no spread in constant values, whatever their size', () => {
    for (const value of [0, 0.1, -1e9, 1e300]) {
      expect(describeWindow([value, value, value, value], 1)).toMatchObject({
        mean: value,
        sd: 0,
        lag1: Number.NaN,
        nEffective: 4,
        standardError: 0,
        drift: 0,
        driftUncertainty: 0,
        span: 0,
      })
    }
  })
  it('refuses an empty window, one without a value that counts, an interval of 0 and sums beyond a double', () => {
    expect(() => describeWindow([], 1)).toThrow('holds no values')
    expect(() => describeWindow([Number.NaN, 1], 1, { marks: [0, 1] })).toThrow('marked or not finite')
    expect(() => describeWindow([1, 2], 0)).toThrow('interval')
    expect(() => describeWindow([1, 2], 1, { marks: [0] })).toThrow('one mark for each')
    expect(() => describeWindow([1e308, 1e308], 1)).toThrow('too large')
  })
  it('leaves marked and non-finite values out and says how many', () => {
    const found = describeWindow([10, Number.NaN, 12, 99, 14], 1, { marks: [0, 0, 0, 1, 0] })
    expect(found).toMatchObject({ n: 3, leftOut: 2, mean: 12, maximum: 14 })
    // The times of those that remain are their own: 0, 2 and 4 s.
    expect(found.drift).toBeCloseTo(1, 14)
  })
  it('does not lose digits to a large offset', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -1000, max: 1000 }), { minLength: 5, maxLength: 40 }),
        (values) => {
          const near = describeWindow(values, 1)
          const far = describeWindow(
            values.map((value) => value + 2 ** 40),
            1,
          )
          return (
            near.sd === 0 ||
            (Math.abs(far.sd / near.sd - 1) < 1e-12 &&
              Math.abs(far.drift - near.drift) <= 1e-12 * Math.max(1, near.sd))
          )
        },
      ),
    )
  })
  it('scales with the values and their interval', () => {
    const values = [3, 1, 4, 1, 5, 9, 2, 6]
    const one = describeWindow(values, 1)
    const other = describeWindow(
      values.map((value) => -8 * value),
      4,
    )
    expect(other.sd).toBe(8 * one.sd)
    expect(other.drift).toBe(-2 * one.drift)
    expect(other.driftUncertainty).toBe(2 * one.driftUncertainty)
    expect(other.nEffective).toBe(one.nEffective)
  })
  it('takes a value as the decimal that was written when asked to', () => {
    const values = [10000000.2, ...Array.from({ length: 500 }, () => [10000000.1, 10000000.3]).flat()]
    expect(describeWindow(values, 1, { decimal: true }).sd).toBeCloseTo(0.1, 15)
    expect(Math.abs(describeWindow(values, 1).sd - 0.1)).toBeGreaterThan(1e-11)
  })
  it('counts white values as nearly all independent and never as more than there are', () => {
    const random = seededRandom(4)
    let sum = 0
    for (let run = 0; run < 100; run++) {
      const { nEffective } = describeWindow(Float64Array.from({ length: 400 }, random.normal), 1)
      expect(nEffective).toBeLessThanOrEqual(400)
      sum += nEffective / 400
    }
    expect(sum / 100).toBeGreaterThan(0.88)
    expect(describeWindow([1, -1, 1, -1, 1, -1], 1).nEffective).toBe(6)
  })

  // First-order autoregressive noise: n (1 − φ)/(1 + φ) independent values; intervals should hold their promise.
  it.each([
    [60, 0, 0.93],
    [60, 0.5, 0.9],
    [300, 0.8, 0.9],
    [300, 0.95, 0.87],
  ])('covers mean and drift of %s values with correlation %s in at least %s of cases', (n, phi, least) => {
    const random = seededRandom(11)
    const runs = 400
    let means = 0
    let drifts = 0
    let effective = 0
    for (let run = 0; run < runs; run++) {
      let x = random.normal() / Math.sqrt(1 - phi * phi)
      const values = Float64Array.from({ length: n }, (_, i) => {
        x = phi * x + random.normal()
        return x + 0.001 * i
      })
      const found = describeWindow(values, 1)
      const t = tQuantile(0.975, found.driftDegreesOfFreedom)
      if (Math.abs(found.drift - 0.001) < t * found.driftUncertainty) drifts++
      const middle = 0.001 * ((n - 1) / 2)
      if (
        Math.abs(found.mean - middle) <
        tQuantile(0.975, Math.max(1, found.nEffective - 1)) * found.standardError
      )
        means++
      effective += found.nEffective / runs
    }
    expect(drifts / runs).toBeGreaterThan(least)
    expect(means / runs).toBeGreaterThan(least)
    expect(drifts / runs).toBeLessThanOrEqual(1)
    const truth = (n * (1 - phi)) / (1 + phi)
    expect(effective / truth).toBeGreaterThan(0.75)
    expect(effective / truth).toBeLessThan(1.4)
  })
})

describe('describeSamples', () => {
  it('agrees with describeWindow on even times, whatever their origin', () => {
    const values = [2, 7, 1, 8, 2, 8]
    const times = values.map((_, i) => 1.7e9 + 0.5 * i)
    expect(describeSamples(times, values)).toEqual(describeWindow(values, 0.5))
  })
  it('finds the slope of a line at uneven times', () => {
    const times = [0, 1, 5, 6, 20]
    const found = describeSamples(
      times,
      times.map((t) => 3 - 0.25 * t),
    )
    expect(found.drift).toBeCloseTo(-0.25, 14)
    expect(found.driftUncertainty).toBeLessThan(1e-14)
    expect(found.durationS).toBe(20)
  })
  it('gives no drift where all times are one', () => {
    expect(describeSamples([3, 3, 3], [1, 2, 3]).drift).toBeNaN()
  })
  it('refuses times that fall, are missing or are not finite', () => {
    expect(() => describeSamples([0, 2, 1], [1, 2, 3])).toThrow('before the one preceding')
    expect(() => describeSamples([0, 1], [1, 2, 3])).toThrow('one time for each')
    expect(() => describeSamples([0, Number.NaN, 1], [1, 2, 3])).toThrow('not a finite')
  })
})

describe('describeDrift', () => {
  it('says to the last digit what describeSamples says of the same window', () => {
    const random = seededRandom(7)
    for (let round = 0; round < 200; round++) {
      const n = 1 + Math.floor(40 * random.uniform())
      const times = Array.from({ length: n }, (_, i) => 100 + 2 * i + random.uniform())
      const values = times.map((t) =>
        random.uniform() < 0.1 ? Number.NaN : 25 + 1e-4 * t + 1e-3 * random.uniform(),
      )
      values[0] = 25
      const whole = describeSamples(times, values)
      const drift = describeDrift(times, values)
      for (const [key, value] of Object.entries(drift)) expect(whole[key as keyof typeof whole]).toBe(value)
      expect(Object.keys(drift)).toHaveLength(9)
    }
  })
  it('refuses times that do not fit the values', () => {
    expect(() => describeDrift([0, 1], [1])).toThrow(/2 times and 1 values/)
    expect(() => describeDrift([1, 0], [1, 2])).toThrow(/lies before/)
    expect(() => describeDrift([0], [Number.NaN])).toThrow(/marked or not finite/)
  })
})
