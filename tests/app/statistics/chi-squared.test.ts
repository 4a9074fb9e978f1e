import { describe, expect, it } from 'vitest'
import { chiSquaredQuantile } from '../../../app/statistics/chi-squared.ts'

describe('chiSquaredQuantile', () => {
  // Upper 5 % and 1 % points of chi-squared, usual tables (from memory).
  it.each([
    [1, 0.95, 3.841],
    [2, 0.95, 5.991],
    [5, 0.95, 11.07],
    [10, 0.95, 18.307],
    [1, 0.99, 6.635],
    [10, 0.99, 23.209],
  ])('agrees with the table at %i degrees of freedom, %f', (freedom, probability, value) => {
    expect(Math.abs(chiSquaredQuantile(probability, freedom) - value)).toBeLessThan(6e-4)
  })
})
