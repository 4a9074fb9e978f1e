import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  coverageFactor,
  exactCoverage,
  tailOfCoverage,
  truncatedDegreesOfFreedom,
} from '../../../app/statistics/coverage.ts'
import { StatisticsError } from '../../../app/statistics/errors.ts'
import { normalCdf, normalQuantile, normalUpperTail } from '../../../app/statistics/normal.ts'
import { tCdf, tDensity, tQuantile, tUpperQuantile, tUpperTail } from '../../../app/statistics/student-t.ts'

const relative = (found: number, expected: number) => Math.abs(found / expected - 1)

describe('normalUpperTail', () => {
  it('gives the tail to fourteen digits, near and far', () => {
    // Abramowitz and Stegun, table 26.1 and 26.2, and a program independent of this one.
    expect(relative(normalUpperTail(2.5), 0.006209665325776132)).toBeLessThan(1e-14)
    expect(relative(normalUpperTail(10), 7.61985302416047e-24)).toBeLessThan(1e-13)
    expect(normalUpperTail(0)).toBe(0.5)
    expect(normalUpperTail(Number.POSITIVE_INFINITY)).toBe(0)
  })
  it('is continuous where the series hands over to the fraction', () => {
    expect(relative(normalUpperTail(1.25 - 1e-12), normalUpperTail(1.25 + 1e-12))).toBeLessThan(1e-11)
  })
  it('mirrors: the two tails make one', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -8, max: 8, noNaN: true }),
        (z) => Math.abs(normalCdf(z) + normalCdf(-z) - 1) < 1e-15,
      ),
    )
  })
})

describe('normalQuantile', () => {
  it('is the inverse of normalCdf', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1e-12, max: 0.5, noNaN: true }),
        (p) => relative(normalCdf(normalQuantile(p)), p) < 1e-12,
      ),
    )
  })
  it('gives 1.959963984540054 at 0.975', () => {
    expect(normalQuantile(0.975)).toBeCloseTo(1.959963984540054, 14)
  })
  it('reaches far into the tail', () => {
    expect(relative(normalQuantile(1e-100), -21.273453560965322)).toBeLessThan(1e-13)
  })
  it('is without end at its ends, and exactly 0 in the middle', () => {
    expect(normalQuantile(1)).toBe(Number.POSITIVE_INFINITY)
    expect(normalQuantile(0)).toBe(Number.NEGATIVE_INFINITY)
    expect(Math.abs(normalQuantile(0.5))).toBe(0)
  })
  it('refuses what is no probability', () => {
    expect(() => normalQuantile(1.5)).toThrow(StatisticsError)
    expect(() => normalQuantile(Number.NaN)).toThrow(StatisticsError)
  })
})

describe('tQuantile', () => {
  it('is the inverse of tCdf for any degrees of freedom', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 1e-9, max: 0.499, noNaN: true }),
        fc.double({ min: 0.3, max: 1e6, noNaN: true }),
        (q, dof) => relative(tUpperTail(tUpperQuantile(q, dof), dof), q) < 1e-11,
      ),
    )
  })
  it('agrees with the closed forms of one and two degrees of freedom', () => {
    expect(tQuantile(0.975, 1)).toBeCloseTo(Math.tan(0.475 * Math.PI), 10)
    expect(tQuantile(0.975, 2)).toBeCloseTo(4.302652729749462, 12)
    expect(tQuantile(0.975, 1.0000001)).toBeCloseTo(12.7062, 3)
  })
  it('tends to the normal quantile, smoothly across the change of method', () => {
    expect(tQuantile(0.975, Number.POSITIVE_INFINITY)).toBe(normalQuantile(0.975))
    expect(relative(tQuantile(0.975, 2999.999), tQuantile(0.975, 3000.001))).toBeLessThan(1e-9)
    expect(relative(tQuantile(0.975, 1e12), normalQuantile(0.975))).toBeLessThan(1e-11)
  })
  it('is odd about the median', () => {
    expect(tQuantile(0.5, 7)).toBeCloseTo(0, 15)
    expect(tQuantile(0.2, 7)).toBe(-tQuantile(0.8, 7))
  })
  it('refuses degrees of freedom of 0 and probabilities above 1', () => {
    expect(() => tQuantile(0.9, 0)).toThrow(/above 0/)
    expect(() => tQuantile(1.2, 5)).toThrow(/between 0 and 1/)
  })
})

describe('tUpperTail', () => {
  it('is the same on both sides of the change of method, far out as near', () => {
    for (const [t, within] of [
      [0.5, 1e-14],
      [2, 1e-12],
      [8, 1e-10],
      [20, 1e-6],
      // A probability of 1E-178, of which nobody wants more digits.
      [30, 1e-4],
    ] as const)
      expect(relative(tUpperTail(t, 3000.0000001), tUpperTail(t, 3000))).toBeLessThan(within)
  })

  it('falls with the power of its degrees of freedom as far out as a double reaches', () => {
    // Q(t) = C t^-nu from where t^2 is beyond nu by sixteen digits; C is that at 1e20.
    for (const dof of [0.5, 1.5, 2]) {
      const far = tUpperTail(1e20, dof)
      expect(relative(tUpperTail(1e30, dof), far * 10 ** (-10 * dof))).toBeLessThan(1e-12)
      expect(relative(tUpperTail(1e140, dof), far * 10 ** (-120 * dof))).toBeLessThan(1e-12)
    }
    expect(relative(tUpperTail(1e200, 0.5), tUpperTail(1e20, 0.5) * 1e-90)).toBeLessThan(1e-12)
    expect(tUpperTail(1e200, 3)).toBe(0)
  })

  it.each([
    [1, 1e-13],
    [5, 1e-11],
    [10, 1e-9],
    [30, 1e-4],
  ])('goes over smoothly to the expansion for many degrees of freedom, at t = %s', (t, within) => {
    expect(relative(tUpperTail(t, 3000 - 1e-9), tUpperTail(t, 3000 + 1e-9))).toBeLessThan(within)
  })
})

describe('tDensity', () => {
  it('is the slope of tCdf', () => {
    for (const dof of [0.7, 3, 40, 1e5]) {
      const slope = (tCdf(1.3 + 1e-5, dof) - tCdf(1.3 - 1e-5, dof)) / 2e-5
      expect(tDensity(1.3, dof)).toBeCloseTo(slope, 8)
    }
  })
})

describe('tailOfCoverage', () => {
  it('takes 68.27, 95.45 and 99.73 as exactly one, two and three standard deviations', () => {
    expect(tailOfCoverage(0.9545)).toBe(normalUpperTail(2))
    expect(tailOfCoverage(95.45)).toBe(normalUpperTail(2))
    expect(coverageFactor(0.6827)).toBe(1)
    expect(coverageFactor(0.9973)).toBe(3)
    expect(coverageFactor(0.9544)).not.toBe(2)
  })
  it('takes a number above 1 as per cent', () => {
    expect(coverageFactor(95)).toBeCloseTo(coverageFactor(0.95), 12)
    expect(exactCoverage(95)).toBeCloseTo(0.95, 14)
  })
  it.each([0, 1, 100, -1, Number.NaN])('refuses %s', (coverage) => {
    expect(() => tailOfCoverage(coverage)).toThrow(/coverage probability/)
  })
})

describe('truncatedDegreesOfFreedom', () => {
  it.each([
    [16.75, 16],
    [9, 9],
    [8.999999999999998, 9],
    [18.9987, 19],
    [18.98, 18],
    [0.6, 0.6],
    [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY],
  ])('takes %s as %s', (effective, used) => {
    expect(truncatedDegreesOfFreedom(effective)).toBe(used)
  })
})
