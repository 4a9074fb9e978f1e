import { describe, expect, it } from 'vitest'
import { chiSquaredQuantile } from '../../../app/statistics/chi-squared.ts'
import { fQuantile } from '../../../app/statistics/fisher-f.ts'
import { tQuantile } from '../../../app/statistics/student-t.ts'

describe('a quantile of F', () => {
  it('is that of the printed tables', () => {
    // Upper 5 % and 1 % points of F, as every textbook prints them (figures from memory).
    const printed = [
      [0.95, 5, 10, 3.33],
      [0.99, 5, 10, 5.64],
      [0.99, 4, 12, 5.41],
      [0.95, 2, 3, 9.55],
      [0.99, 10, 20, 3.37],
    ] as const
    for (const [p, above, below, f] of printed) expect(fQuantile(p, above, below)).toBeCloseTo(f, 1.9)
  })

  it('is t squared with one degree of freedom above, and chi-squared over its own with a variance that is known', () => {
    expect(fQuantile(0.99, 1, 7.5)).toBeCloseTo(tQuantile(0.995, 7.5) ** 2, 8)
    expect(fQuantile(0.99, 6, Number.POSITIVE_INFINITY)).toBeCloseTo(chiSquaredQuantile(0.99, 6) / 6, 9)
    expect(fQuantile(0.99, 6, 9e4)).toBeCloseTo(chiSquaredQuantile(0.99, 6) / 6, 3)
  })

  it('is refused without degrees of freedom', () => {
    expect(() => fQuantile(0.95, 3, 0)).toThrow(/Degrees of freedom must be above 0/)
  })
})
