import { describe, expect, it } from 'vitest'
import { analyse } from '../../../app/results/analysis.ts'
import {
  type ExpectedSource,
  residualScatter,
  scatterLimit,
  scatterTogether,
} from '../../../app/results/residual-scatter.ts'
import { fQuantile } from '../../../app/statistics/fisher-f.ts'
import { quickNight } from '../../soak/hostile/night.ts'

/** Errors of a size at each point, alike at all points by `r`. */
function errors(sizes: readonly number[], r = 0, more: Partial<ExpectedSource> = {}): ExpectedSource {
  const covarianceMk2 = (i: number, j: number) => sizes[i]! * sizes[j]! * (i === j ? 1 : r)
  return {
    covarianceMk2,
    varianceMk2: (w) =>
      w.reduce((sum, a, i) => sum + w.reduce((s, b, j) => s + a * b * covarianceMk2(i, j), 0), 0),
    degreesOfFreedom: Number.POSITIVE_INFINITY,
    estimate: 'one',
    isShared: false,
    ...more,
  }
}

/** A fit of one constant: every point takes the mean, so that a residual is the mean less the point. */
const ofMean = (n: number) =>
  Array.from({ length: n }, (_, i) => Array.from({ length: n }, (_x, j) => 1 / n - Number(i === j)))
const isBath = (n: number) => new Array<boolean>(n).fill(true)
const residualsOf = (e: readonly number[]) => {
  const mean = e.reduce((sum, x) => sum + x, 0) / e.length
  return e.map((x) => mean - x)
}

describe('residuals held against a budget', () => {
  it('give the plain chi-squared where all points are alike and free of each other', () => {
    const found = residualScatter(
      residualsOf([1, -2, 3, 0, 2]),
      ofMean(5),
      [errors([2, 2, 2, 2, 2])],
      isBath(5),
    )
    // Sum of squares about the mean 0.8 is 14.8, over 4.
    expect(found.freedom).toBe(4)
    expect(found.chiSquared).toBeCloseTo(3.7, 5)
    expect(found.beyondMk).toBe(0)
  })

  it('take an error that all points share for what the fit takes up, however large', () => {
    const own = errors([1, 1, 1, 1])
    const common = errors([50, 50, 50, 50], 1)
    const [without, beside] = [[own], [own, common]].map((sources) =>
      residualScatter(residualsOf([3, -3, 1, 2]), ofMean(4), sources, isBath(4)),
    ) as [ReturnType<typeof residualScatter>, ReturnType<typeof residualScatter>]
    expect(beside.chiSquared).toBeCloseTo(without.chiSquared, 4)
  })

  it('see a small scatter beside a large one: the points that repeat well have to', () => {
    // Four points of 0.1 mK among two of 10 mK; one of the four is off by 1 mK, which a sum of squares never sees.
    const sources = [errors([0.1, 0.1, 0.1, 0.1, 10, 10])]
    const found = residualScatter(residualsOf([1, 0, 0, 0, 3, -5]), ofMean(6), sources, isBath(6))
    expect(found.chiSquared).toBeGreaterThan(scatterLimit(found, 0.001))
    const squares = residualsOf([1, 0, 0, 0, 3, -5]).reduce((sum, r) => sum + r * r, 0)
    expect(squares).toBeLessThan(200)
  })

  it('tell how large an error of every point explains them', () => {
    const found = residualScatter(residualsOf([4, -4, 4, -4]), ofMean(4), [errors([1, 1, 1, 1])], isBath(4))
    // 64 = 3 (1 + s^2).
    expect(found.beyondMk).toBeCloseTo(Math.sqrt(64 / 3 - 1), 4)
  })

  it('are given more room where few readings tell how well they repeat', () => {
    const known = residualScatter([1, -1], ofMean(2), [errors([1, 1])], isBath(2))
    const guessed = residualScatter(
      [1, -1],
      ofMean(2),
      [errors([1, 1], 0, { degreesOfFreedom: 4 })],
      isBath(2),
    )
    expect(guessed.expectedFreedom).toBeCloseTo(4, 4)
    expect(scatterLimit(known, 0.01)).toBeCloseTo(6.63, 2)
    // F of 1 and 4 degrees of freedom at 1 % (tables): 21.20.
    expect(scatterLimit(guessed, 0.01)).toBeCloseTo(21.2, 1)
  })
})

describe('the degrees of freedom of a fit', () => {
  it('count R(0.01 °C) as a parameter where the points have to tell it: as many as directions are left free', () => {
    const { input } = quickNight({ kind: 'none', order: 'symmetric', seed: 5, without: 'exchange' })
    const few = input.points.filter((p) => p.kind !== 'comparison' || ['p1', 'p2', 'p3'].includes(p.id))
    const freedoms = [few, input.points].map((points) => {
      const { thermometers } = analyse({ ...input, points, options: { monteCarloTrials: 0, bandSteps: 0 } })
      const { fit } = thermometers.find((t) => t.record.channel.id === 'sprt')!
      return [fit!.pairs.length, fit!.fit.degreesOfFreedom, fit!.scatter.freedom]
    })
    // One coefficient of the deviation function, and R(0.01 °C).
    expect(freedoms).toEqual([
      [3, 1, 1],
      [6, 4, 4],
    ])
  })
})

describe('residuals of all thermometers of a night', () => {
  const one = (chiSquared: number, sharedPart: number) => ({
    freedom: 5,
    chiSquared,
    expectedFreedom: Number.POSITIVE_INFINITY,
    sharedPart,
    beyondMk: 0,
  })

  it('tell together what none of them tells alone', () => {
    const each = one(11.5, 0)
    expect(each.chiSquared).toBeLessThan(scatterLimit(each, 0.01 / 4))
    expect(scatterTogether([each, each, each, each], 0.01)).toBeGreaterThan(1)
    // 46 against chi-squared of 20 degrees of freedom at 1 % (tables): 37.57.
    expect(scatterTogether([each, each, each, each], 0.01)).toBeCloseTo(46 / 37.57, 2)
  })

  it('count for fewer where they share their errors: as one where they share all', () => {
    const all = [1, 1, 1].map(() => one(12, 1))
    expect(scatterTogether(all, 0.01)).toBeCloseTo(12 / (5 * fQuantile(0.99, 5, Number.POSITIVE_INFINITY)), 9)
  })

  it('say nothing where no fit leaves anything free', () => {
    expect(scatterTogether([], 0.01)).toBe(0)
  })
})
