import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { coverageIntervals, symmetricInterval } from '../../../app/statistics/coverage-interval.ts'
import { seededRandom } from '../../../app/statistics/random.ts'
import { medianOf, selectInPlace } from '../../../app/statistics/selection.ts'

const doubles = (maxLength: number) => fc.array(fc.double({ noNaN: true }), { minLength: 1, maxLength })
const ordered = (values: readonly number[]) => Float64Array.from(values).sort()

describe('selectInPlace', () => {
  it('finds what sorting finds, and parts the array at the place', () => {
    fc.assert(
      fc.property(doubles(3000), fc.nat(), (list, at) => {
        const values = Float64Array.from(list)
        const k = at % values.length
        const found = selectInPlace(values, k)
        return (
          found === ordered(list)[k] &&
          values.subarray(0, k).every((value) => value <= found) &&
          values.subarray(k).every((value) => value >= found)
        )
      }),
    )
  })
  it('keeps its speed on equal and on sorted values', () => {
    for (const make of [() => 1, (i: number) => i, (i: number) => -i, (i: number) => i % 3]) {
      const values = Float64Array.from({ length: 200_000 }, (_, i) => make(i))
      const expected = values.slice().sort()[100_000]
      expect(selectInPlace(values, 100_000)).toBe(expected)
    }
  })
  it('refuses a place outside the array', () => {
    expect(() => selectInPlace(Float64Array.of(1, 2), 2)).toThrow('outside')
  })
})

describe('medianOf', () => {
  it('is the middle value, or the mean of the two', () => {
    expect(medianOf(Float64Array.of(5, 1, 3))).toBe(3)
    expect(medianOf(Float64Array.of(5, 1, 3, 2))).toBe(2.5)
    expect(() => medianOf(new Float64Array(0))).toThrow('at least one')
  })
})

describe('coverageIntervals', () => {
  const random = seededRandom(3)
  it.each([0.95, 0.99, 0.5, 0.3])('gives what a full sort gives, at p = %s', (coverage) => {
    const values = Float64Array.from({ length: 5001 }, () => random.normal() ** 3)
    const sorted = values.slice().sort()
    const q = Math.floor(coverage * 5001 + 0.5)
    const r = Math.floor((5001 - q + 1) / 2)
    let shortest = [sorted[0]!, sorted[q]!]
    for (let k = 0; k + q < sorted.length; k++) {
      if (sorted[k + q]! - sorted[k]! < shortest[1]! - shortest[0]!) shortest = [sorted[k]!, sorted[k + q]!]
    }
    expect(symmetricInterval(values.slice(), coverage)).toEqual([sorted[r - 1], sorted[r + q - 1]])
    const both = coverageIntervals(values, coverage)
    expect(both.symmetric).toEqual([sorted[r - 1], sorted[r + q - 1]])
    expect(both.shortest).toEqual(shortest)
  })
  it('finds a shortest interval no longer than the symmetric one', () => {
    const values = Float64Array.from({ length: 20_000 }, () => -Math.log(random.uniform()))
    const { symmetric, shortest } = coverageIntervals(values, 0.95)
    expect(shortest[1] - shortest[0]).toBeLessThan(symmetric[1] - symmetric[0])
    expect(shortest[0]).toBeLessThan(0.001)
  })
  it('refuses too few values for the probability', () => {
    expect(() => coverageIntervals(Float64Array.of(1, 2, 3), 0.95)).toThrow('too few')
  })
})
