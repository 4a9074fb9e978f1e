import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  bracketedRoot,
  polynomial,
  polynomialSlope,
  realRoots,
  rootBound,
} from '../../../app/thermometry/polynomial.ts'

const coefficient = fc.double({ min: -10, max: 10, noNaN: true }).filter((c) => Math.abs(c) > 1e-3)

describe('polynomial and polynomialSlope', () => {
  it('are Horner by hand', () => {
    expect(polynomial([1, 2, 3], 2)).toBe(17)
    expect(polynomialSlope([1, 2, 3], 2)).toBe(14)
    expect(polynomial([], 2)).toBe(0)
  })
})

describe('realRoots', () => {
  it('finds every root of a product of different linear factors', () => {
    const root = fc.integer({ min: -50, max: 50 })
    fc.assert(
      fc.property(fc.uniqueArray(root, { minLength: 1, maxLength: 5 }), coefficient, (roots, scale) => {
        let c = [scale]
        for (const r of roots) c = [0, ...c].map((value, i) => value - r * (c[i] ?? 0))
        const found = realRoots(c, -60, 60)
        expect(found).toHaveLength(roots.length)
        const sorted = [...roots].sort((p, q) => p - q)
        found.forEach((r, i) => {
          expect(r).toBeCloseTo(sorted[i]!, 4)
        })
      }),
    )
  })

  it('finds none where there is none, and none of a constant', () => {
    expect(realRoots([1, 0, 1], -10, 10)).toEqual([])
    expect(realRoots([1], -10, 10)).toEqual([])
    expect(realRoots([0, 0, 0], -10, 10)).toEqual([])
  })

  it('stays inside the interval', () => {
    expect(realRoots([-4, 0, 1], 0, 10)).toEqual([2])
    expect([-1, 0, 5, 10, 11].flatMap((root) => realRoots([-root, 1], 0, 10))).toEqual([0, 5, 10])
    // Leading coefficients of 0 make no higher degree.
    expect(realRoots([-5, 1, 0, 0], 0, 10)).toEqual([5])
    expect(realRoots([0, -3, 1], 0, 10)).toEqual([0, 3])
  })

  it('gives a multiple root once, also where the polynomial only touches zero', () => {
    // (x - 1)^2 (x + 2)
    const roots = realRoots([2, -3, 0, 1], -5, 5)
    expect(roots).toHaveLength(2)
    expect(roots[0]).toBeCloseTo(-2, 12)
    expect(roots[1]).toBeCloseTo(1, 12)
    expect(realRoots([1, -2, 1], 0, 3)).toEqual([1])
  })
})

describe('rootBound', () => {
  it('is 1 and the largest ratio to the last coefficient that is not zero', () => {
    expect(rootBound([6, -8, 2])).toBe(5)
    expect(rootBound([6, -8, 2, 0])).toBe(5)
    expect(rootBound([7])).toBe(0)
    expect(rootBound([7, 0])).toBe(0)
  })

  it('holds every root', () => {
    fc.assert(
      fc.property(fc.array(coefficient, { minLength: 2, maxLength: 6 }), (c) => {
        const bound = rootBound(c)
        for (const root of realRoots(c, -1e6, 1e6))
          expect(Math.abs(root)).toBeLessThanOrEqual(bound * (1 + 1e-9))
      }),
    )
  })
})

describe('bracketedRoot', () => {
  it('finds the root of a function that bends strongly', () => {
    expect(bracketedRoot((x) => Math.exp(x) - 1e6, 0, 100)).toBeCloseTo(Math.log(1e6), 12)
    expect(bracketedRoot((x) => x ** 9, -1, 2)).toBeCloseTo(0, 1)
  })

  it('gives an end that is itself a root, and NaN without a change of sign', () => {
    expect(bracketedRoot((x) => x, 0, 1)).toBe(0)
    expect(bracketedRoot((x) => x - 1, 0, 1)).toBe(1)
    expect(bracketedRoot((x) => x + 1, 0, 1)).toBeNaN()
  })
})
