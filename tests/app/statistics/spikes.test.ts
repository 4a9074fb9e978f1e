import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { normalQuantile } from '../../../app/statistics/normal.ts'
import { seededRandom } from '../../../app/statistics/random.ts'
import { MAD_TO_SD, markSpikes } from '../../../app/statistics/spikes.ts'

describe('markSpikes', () => {
  it('marks a value far from the median and leaves the record as it is', () => {
    const values = [1, 2, 1, 2, 1, 50, 2, 1]
    expect(Array.from(markSpikes(values))).toEqual([0, 0, 0, 0, 0, 1, 0, 0])
    expect(values).toEqual([1, 2, 1, 2, 1, 50, 2, 1])
  })
  it('is not fooled by many spikes, which would widen a standard deviation', () => {
    const values = Array.from({ length: 30 }, (_, i) => (i % 4 === 0 ? 1000 : i % 3))
    const marks = markSpikes(values)
    expect(values.every((value, i) => (value === 1000) === (marks[i] === 1))).toBe(true)
  })
  it('marks what is not finite, and nothing finite among fewer than four values', () => {
    expect(Array.from(markSpikes([1, Number.NaN, 1e9]))).toEqual([0, 1, 0])
  })
  it('marks hardly anything in normal noise', () => {
    const random = seededRandom(9)
    const marks = markSpikes(Float64Array.from({ length: 20_000 }, random.normal))
    expect(marks.reduce((sum, mark) => sum + mark, 0)).toBeLessThanOrEqual(1)
  })
  it('does not mark a drift when it looks at neighbours, and still finds the spike in it', () => {
    const values = Array.from({ length: 100 }, (_, i) => i + (i % 2) * 0.3)
    values[40] = 60
    const marks = markSpikes(values, { neighbours: 5 })
    expect(Array.from(marks).flatMap((mark, i) => (mark ? [i] : []))).toEqual([40])
  })
  it('finds a spike of a few steps in a steep drift, and marks neither end of it', () => {
    const values = Array.from({ length: 60 }, (_, i) => i + (i % 2) * 0.02)
    expect(markSpikes(values, { neighbours: 5, resolution: 0.1 }).some((mark) => mark === 1)).toBe(false)
    for (const at of [0, 30, 59]) {
      const marks = markSpikes(values.with(at, values[at]! + 4), { neighbours: 5, resolution: 0.25 })
      expect(Array.from(marks).flatMap((mark, i) => (mark ? [i] : []))).toEqual([at])
    }
  })
  it('does not mark the last digit of a reading that hardly moves', () => {
    const values = Array.from({ length: 50 }, (_, i) => (i === 7 || i === 20 ? 1.0001 : 1))
    expect(markSpikes(values, { resolution: 0.0001 }).some((mark) => mark === 1)).toBe(false)
  })
  it('marks nothing among equal values, and the one that differs from them', () => {
    expect(markSpikes([3, 3, 3, 3, 3]).some((mark) => mark === 1)).toBe(false)
    expect(markSpikes([...new Array(30).fill(3), 4]).at(-1)).toBe(1)
  })
  it('takes the mean deviation times √(π/2) where more than half of the values are equal', () => {
    // 0.4 of 20 values lie 1 away: the mean deviation is 0.4, the spread 0.50.
    const values = (outlier: number) => [...new Array(11).fill(0), ...new Array(8).fill(1), outlier]
    const spread = (outlier: number) => Math.sqrt(Math.PI / 2) * ((8 + outlier) / 20)
    expect(4 / spread(4)).toBeGreaterThan(5)
    expect(markSpikes(values(4)).at(-1)).toBe(1)
    expect(3.5 / spread(3.5)).toBeLessThan(5)
    expect(markSpikes(values(3.5)).at(-1)).toBe(0)
  })
  it('does not depend on scale or offset', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -50, max: 50 }), { minLength: 4, maxLength: 30 }), (values) => {
        const moved = values.map((value) => 1024 - 4 * value)
        return markSpikes(values).every((mark, i) => mark === markSpikes(moved)[i])
      }),
    )
  })
  it('refuses a limit of 0', () => {
    expect(() => markSpikes([1, 2, 3, 4], { limit: 0 })).toThrow('above 0')
  })
  it('turns a median deviation into a standard deviation by 1/Φ⁻¹(3/4)', () => {
    expect(MAD_TO_SD).toBeCloseTo(1 / normalQuantile(0.75), 12)
  })
})
