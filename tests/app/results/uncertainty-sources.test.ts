import { describe, expect, it } from 'vitest'
import { betweenTemperatures } from '../../../app/results/between.ts'
import {
  combinedCovariance,
  combinedVariance,
  correlationBetween,
} from '../../../app/results/uncertainty-sources.ts'

const at = [0, 50, 100]

describe('combinedVariance', () => {
  it('adds squares where errors are independent', () => {
    expect(combinedVariance([1, 1, 1], [1, 2, 2], { kind: 'independent' }, at)).toBe(9)
  })

  it('adds the errors themselves where they are common, signs and all', () => {
    expect(combinedVariance([1, 1, 1], [1, 2, 2], { kind: 'common' }, at)).toBe(25)
    expect(combinedVariance([1, -1, 0], [2, 2, 2], { kind: 'common' }, at)).toBe(0)
  })

  it('lies between the two where they are alike at near temperatures', () => {
    const near = combinedVariance([1, 1], [1, 1], { kind: 'smooth', lengthK: 50 }, [0, 1])
    const far = combinedVariance([1, 1], [1, 1], { kind: 'smooth', lengthK: 50 }, [0, 500])
    expect(near).toBeCloseTo(4, 3)
    expect(far).toBeCloseTo(2, 12)
  })

  it('is what JCGM 100:2008, H.1.3, equation (16) gives for two correlated inputs', () => {
    // u² = c1² u1² + c2² u2² + 2 c1 c2 u1 u2 r, r from the smooth correlation at one length apart
    const r = correlationBetween({ kind: 'smooth', lengthK: 50 }, 0, 1, 50)
    expect(r).toBeCloseTo(Math.exp(-0.5), 12)
    expect(combinedVariance([2, 3], [0.5, 0.1], { kind: 'smooth', lengthK: 50 }, [0, 50])).toBeCloseTo(
      4 * 0.25 + 9 * 0.01 + 2 * 2 * 3 * 0.5 * 0.1 * r,
      12,
    )
  })
})

describe('combinedCovariance', () => {
  it('is the double sum of JCGM 100:2008, equation (F.2), also where one of the two sums leaves a point out', () => {
    const effects = [2, 3, 5]
    const celsius = [0, 30, 70]
    const correlation = { kind: 'smooth', lengthK: 40 } as const
    const r = (i: number, j: number) => Math.exp(-((celsius[i]! - celsius[j]!) ** 2) / (2 * 40 ** 2))
    for (const [left, right] of [
      [
        [1, 0, 0],
        [0, 1, 0],
      ],
      [
        [0, 0, 1],
        [1, -2, 0],
      ],
      [
        [0.5, 0, -1],
        [0.25, 4, 3],
      ],
    ] as const) {
      const sum = [0, 1, 2].reduce(
        (all, i) =>
          all + [0, 1, 2].reduce((s, j) => s + left[i]! * effects[i]! * r(i, j) * effects[j]! * right[j]!, 0),
        0,
      )
      expect(combinedCovariance(left, right, effects, correlation, celsius)).toBeCloseTo(sum, 12)
      expect(combinedCovariance(right, left, effects, correlation, celsius)).toBeCloseTo(sum, 12)
    }
    expect(combinedCovariance([1, 0, 0], [0, 1, 0], effects, { kind: 'common' }, celsius)).toBe(6)
    expect(combinedCovariance([1, 2, 0], [0, 1, 4], effects, { kind: 'independent' }, celsius)).toBe(18)
  })
})

describe('betweenTemperatures', () => {
  const values = [
    { celsius: 100, mk: 3 },
    { celsius: 0, mk: 1 },
  ]
  it('is linear between the temperatures named and level beyond them', () => {
    expect(betweenTemperatures(values, 'mk', 25)).toBe(1.5)
    expect(betweenTemperatures(values, 'mk', -40)).toBe(1)
    expect(betweenTemperatures(values, 'mk', 400)).toBe(3)
  })
})
