import { describe, expect, it } from 'vitest'
import { BlockMeans, summaryOf } from '../../../app/results/uncertainty-trials.ts'

describe('summaryOf', () => {
  const shuffled = [17, 3, 20, 8, 1, 12, 6, 15, 10, 19, 2, 14, 9, 5, 18, 11, 7, 16, 4, 13]

  it('has the standard deviation of all trials, and the ends that leave as many below as above', () => {
    // Whole numbers from 1 to n: variance n (n + 1) / 12. Of twenty, the 1st and the 19th leave 5 % and 5 % out: JCGM 101:2008, 7.7.2.
    const { u, low, high } = summaryOf(Float64Array.from(shuffled), 0.9)
    expect(u).toBeCloseTo(Math.sqrt((20 * 21) / 12), 12)
    expect([low, high]).toEqual([1, 19])
    expect(summaryOf(Float64Array.from(shuffled), 0.6)).toMatchObject({ low: 4, high: 16 })
  })

  it('ends at the outermost trials where there are too few for the coverage', () => {
    expect(summaryOf(Float64Array.from(shuffled), 0.9999)).toMatchObject({ low: 1, high: 20 })
  })
})

describe('BlockMeans', () => {
  it('takes the means over the blocks, of u by its square, and says twice how well the worse end is known', () => {
    const means = new BlockMeans()
    means.take({ u: 3, low: -6, high: 5 })
    means.take({ u: 5, low: -7, high: 9 })
    means.take({ u: 4, low: -8, high: 10 })
    const { u, low, high, numerical } = means.found()
    expect(u).toBeCloseTo(Math.sqrt((9 + 25 + 16) / 3), 12)
    expect(low).toBeCloseTo(-7, 12)
    expect(high).toBeCloseTo(8, 12)
    // JCGM 101:2008, 7.9.4: squares about the mean 9 + 1 + 4 = 14 over h (h - 1) = 6.
    expect(numerical).toBeCloseTo(2 * Math.sqrt(14 / 6), 12)
  })
})
