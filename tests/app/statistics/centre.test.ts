import { describe, expect, it } from 'vitest'
import { mean, median } from '../../../app/statistics/centre.ts'

describe('mean', () => {
  it('is the sum over the number', () => {
    expect(mean([1, 2, 6])).toBe(3)
    expect(mean([])).toBeNaN()
  })
})

describe('median', () => {
  it('is the value in the middle, whatever the order', () => {
    expect(median([9, 1, 2])).toBe(2)
    expect(median([5])).toBe(5)
  })

  it('is the mean of the two in the middle of an even number, and null of none', () => {
    expect(median([10, 1, 2, 5])).toBe(3.5)
    expect(median([])).toBeNull()
  })

  it('leaves the values as they are', () => {
    const values = [3, 1, 2]
    median(values)
    expect(values).toEqual([3, 1, 2])
  })
})
