import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { conditionOfTriangle } from '../../../app/statistics/condition.ts'
import { columnLeastSquares, weightedLeastSquares } from '../../../app/statistics/least-squares.ts'
import { polynomialFit } from '../../../app/statistics/polynomial.ts'
import { seededRandom } from '../../../app/statistics/random.ts'
import { tallLeastSquares } from '../../../app/statistics/tall-least-squares.ts'

const near = (found: ArrayLike<number>, expected: ArrayLike<number>, tolerance: number) =>
  Array.from(found).every(
    (value, i) => Math.abs(value - expected[i]!) <= tolerance * Math.max(1, Math.abs(expected[i]!)),
  )

describe('weightedLeastSquares', () => {
  it('gives a hand-worked line', () => {
    const fit = weightedLeastSquares(
      [
        [1, 0],
        [1, 1],
        [1, 2],
        [1, 3],
      ],
      [1, 3, 5, 8],
    )
    expect(near(fit.coefficients, [0.8, 2.3], 1e-15)).toBe(true)
    expect(fit.chiSquared).toBeCloseTo(0.3, 14)
    expect(fit.residualSd).toBeCloseTo(Math.sqrt(0.15), 14)
    expect(fit.standardUncertainties[1]).toBeCloseTo(Math.sqrt(0.15 / 5), 14)
    expect(fit.covariance[0]![1]).toBeCloseTo(-0.15 * 0.3, 14)
    expect(fit.rSquared).toBeCloseTo(1 - 0.3 / 26.75, 14)
    expect(near(fit.leverages, [0.7, 0.3, 0.3, 0.7], 1e-14)).toBe(true)
    expect(near(fit.leaveOneOutResiduals, [0.2 / 0.3, -0.1 / 0.7, -0.4 / 0.7, 0.3 / 0.3], 1e-13)).toBe(true)
    expect(fit.degreesOfFreedom).toBe(2)
  })
  it('gives leave-one-out residuals that refitting without the point confirms', () => {
    const random = seededRandom(1)
    const design = Array.from({ length: 9 }, () => [1, random.normal(), random.normal()])
    const y = design.map(() => random.normal())
    const weights = design.map(() => 1 + random.uniform())
    const whole = weightedLeastSquares(design, y, weights)
    for (let out = 0; out < 9; out++) {
      const rest = <T>(list: readonly T[]) => list.filter((_, i) => i !== out)
      const { coefficients } = weightedLeastSquares(rest(design), rest(y), rest(weights))
      const predicted = design[out]!.reduce((sum, value, j) => sum + value * coefficients[j]!, 0)
      expect(whole.leaveOneOutResiduals[out]!).toBeCloseTo(y[out]! - predicted, 11)
    }
  })
  it('counts a point of weight 3 as three points, but for the degrees of freedom', () => {
    const x = [0, 1, 2, 5]
    const y = [1, 2, 2, 7]
    const row = (value: number) => [1, value]
    const weighted = weightedLeastSquares(x.map(row), y, [1, 3, 1, 1])
    const repeated = weightedLeastSquares([0, 1, 1, 1, 2, 5].map(row), [1, 2, 2, 2, 2, 7])
    expect(near(weighted.coefficients, repeated.coefficients, 1e-14)).toBe(true)
    expect(weighted.chiSquared).toBeCloseTo(repeated.chiSquared, 13)
    expect(weighted.degreesOfFreedom).toBe(2)
  })
  it('does not count points of weight 0', () => {
    const fit = weightedLeastSquares([[1], [1], [1]], [1, 3, 1e6], [1, 1, 0])
    expect(fit).toMatchObject({ coefficients: [2], degreesOfFreedom: 1, chiSquared: 2 })
  })
  it('takes absolute weights as 1/u² and needs no residuals for the covariance', () => {
    const fit = weightedLeastSquares([[1], [1]], [10, 10], [4, 4], { weightsAre: 'absolute' })
    expect(fit.standardUncertainties[0]).toBeCloseTo(Math.sqrt(1 / 8), 15)
    expect(weightedLeastSquares([[1]], [10], [4], { weightsAre: 'absolute' }).standardUncertainties[0]).toBe(
      0.5,
    )
  })
  it('gives no uncertainty where every point is used up', () => {
    const fit = weightedLeastSquares(
      [
        [1, 0],
        [1, 1],
      ],
      [3, 5],
    )
    expect(fit.coefficients).toEqual([3, 2])
    expect(fit.residualSd).toBeNaN()
    expect(fit.standardUncertainties[0]).toBeNaN()
    expect(fit.leaveOneOutResiduals[0]).toBeNaN()
  })
  it('names the columns that depend on one another', () => {
    const rows = [1, 2, 3, 5].map((x) => [1, x, x + 1, x * x])
    const names = { columnNames: ['constant', 'time', 'shifted time', 'square'] }
    expect(() => weightedLeastSquares(rows, [1, 2, 3, 4], undefined, names)).toThrow(
      /column shifted time is a combination of constant, time/,
    )
    expect(() => weightedLeastSquares([[0], [0]], [1, 2])).toThrow(/column x1 is zero at every point/)
  })
  it('tells columns that nearly depend from those that do', () => {
    const rows = [1, 2, 3, 5, 8].map((x, i) => [1, x, x + 1 + (i === 2 ? 1e-9 : 0)])
    expect(weightedLeastSquares(rows, [1, 2, 4, 4, 5]).condition).toBeGreaterThan(1e8)
  })
  it('refuses data that are no data', () => {
    expect(() => weightedLeastSquares([[1], [1, 2]], [1, 2])).toThrow('Row 2')
    expect(() => weightedLeastSquares([[1], [1]], [1])).toThrow('rows of the design')
    expect(() => weightedLeastSquares([[1], [1]], [1, Number.NaN])).toThrow('Point 2')
    expect(() => weightedLeastSquares([[1], [Number.POSITIVE_INFINITY]], [1, 1])).toThrow('Column x1')
    expect(() => weightedLeastSquares([[1], [1]], [1, 1], [1, -1])).toThrow('weight of point 2')
    expect(() => weightedLeastSquares([[1, 2]], [1])).toThrow('1 point cannot determine 2 coefficients')
    expect(() => weightedLeastSquares([], [])).toThrow('no coefficients')
  })
  it('leaves residuals at right angles to the columns', () => {
    fc.assert(
      fc.property(
        fc.array(
          fc.tuple(
            fc.integer({ min: -9, max: 9 }),
            fc.integer({ min: -9, max: 9 }),
            fc.integer({ min: 1, max: 9 }),
          ),
          {
            minLength: 4,
            maxLength: 12,
          },
        ),
        (points) => {
          if (new Set(points.map(([x]) => x)).size < 2) return true
          const rows = points.map(([x]) => [1, x])
          const weights = points.map(([, , w]) => w)
          const { residuals, leverages } = weightedLeastSquares(
            rows,
            points.map(([, y]) => y),
            weights,
          )
          const along = (j: number) =>
            rows.reduce((sum, row, i) => sum + weights[i]! * residuals[i]! * row[j]!, 0)
          const trace = leverages.reduce((sum, h) => sum + h, 0)
          return Math.abs(along(0)) < 1e-10 && Math.abs(along(1)) < 1e-10 && Math.abs(trace - 2) < 1e-12
        },
      ),
    )
  })
})

describe('tallLeastSquares', () => {
  const random = seededRandom(7)
  const n = 1500
  const x = Float64Array.from({ length: n }, () => 2 * random.uniform() - 1)
  const y = x.map((value) => 1 - 2 * value + 0.5 * value ** 3 + 0.1 * random.normal())
  const w = x.map(() => 0.5 + random.uniform())
  const columns = [0, 1, 2, 3].map((k) => x.map((value) => value ** k))
  const options = { names: ['1', 'x', 'x2', 'x3'], aboutMean: true, absolute: false }

  it.each([
    ['weighted', w],
    ['plain', undefined],
  ])('agrees with the double-double way, %s', (_, weights) => {
    const precise = columnLeastSquares(columns, y, weights, { columnNames: options.names, aboutMean: true })
    const tall = tallLeastSquares(columns, y, weights, options)
    expect(near(tall.coefficients, precise.coefficients, 1e-13)).toBe(true)
    expect(near(tall.standardUncertainties, precise.standardUncertainties, 1e-13)).toBe(true)
    expect(near(tall.covariance.flat(), precise.covariance.flat(), 1e-13)).toBe(true)
    expect(near(tall.residuals, precise.residuals, 1e-13)).toBe(true)
    expect(near(tall.leverages, precise.leverages, 1e-13)).toBe(true)
    expect(near(tall.leaveOneOutResiduals, precise.leaveOneOutResiduals, 1e-12)).toBe(true)
    expect(near([tall.rSquared, tall.residualSd], [precise.rSquared, precise.residualSd], 1e-13)).toBe(true)
    expect(tall.condition / precise.condition).toBeCloseTo(1, 9)
  })
  it('wins digits back by refinement where columns are nearly dependent', () => {
    const shifted = [0, 1, 2].map((k) => x.map((value) => (value + 1000) ** k))
    const exact = shifted[0]!.map((_, i) => 3 + 2 * shifted[1]![i]! + shifted[2]![i]!)
    const fit = tallLeastSquares(shifted, exact, undefined, { ...options, names: ['1', 'x', 'x2'] })
    expect(fit.condition).toBeGreaterThan(1e6)
    expect(Math.abs(fit.coefficients[2]! - 1)).toBeLessThan(1e-8)
  })
  it('refuses dependent columns in words', () => {
    const twice = [...columns.slice(0, 2), columns[1]!.map((value) => 2 * value)]
    expect(() => tallLeastSquares(twice, y, w, { ...options, names: ['1', 'x', 'double x'] })).toThrow(
      /column double x is a combination of x/,
    )
  })
  it('serves fits of a hundred thousand points', () => {
    const long = Float64Array.from({ length: 100_000 }, (_, i) => i * 0.001 + 500)
    const values = long.map((value) => 4 - 0.5 * value + 0.001 * value * value)
    const fit = polynomialFit(long, values, 2)
    expect(near(fit.coefficients, [4, -0.5, 0.001], 1e-8)).toBe(true)
    expect(fit.degreesOfFreedom).toBe(99_997)
  })
})

describe('polynomialFit', () => {
  it('keeps the digits of a high degree far from the origin', () => {
    const x = Array.from({ length: 12 }, (_, i) => 1000 + i)
    // (x - 1000)^5, expanded: exact in doubles to its last digit only in double-double.
    const y = x.map((value) => (value - 1000) ** 5)
    const { coefficients } = polynomialFit(x, y, 5)
    expect(near(coefficients, [-1e15, 5e12, -1e10, 1e7, -5000, 1], 1e-14)).toBe(true)
  })
  it('fits without a constant term through the origin, and takes R² about zero', () => {
    const fit = polynomialFit([1, 2, 3], [2, 4, 7], 1, { intercept: false })
    expect(fit.coefficients).toHaveLength(1)
    expect(fit.coefficients[0]).toBeCloseTo(31 / 14, 14)
    expect(fit.rSquared).toBeCloseTo(31 ** 2 / 14 / 69, 14)
  })
  it('fits a constant as the weighted mean', () => {
    const fit = polynomialFit([1, 1, 5], [1, 2, 6], 0, { weights: [1, 1, 2] })
    expect(fit.coefficients[0]).toBeCloseTo(15 / 4, 15)
  })
  it('counts no place whose readings weigh nothing', () => {
    expect(() => polynomialFit([1, 1, 2], [1, 2, 4], 1, { weights: [1, 1, 0] })).toThrow(
      expect.objectContaining({ code: 'rank-deficient', facts: { differentX: 1, coefficients: 2 } }),
    )
    expect(polynomialFit([1, 2, 3], [1, 2, 4], 1, { weights: [1, 0, 1] }).coefficients[1]).toBeCloseTo(
      1.5,
      14,
    )
  })
  it('says how many places the points lie at when they are too few', () => {
    expect(() => polynomialFit([1, 1, 2, 2], [1, 2, 3, 4], 2)).toThrow(
      /at 2 different x, and 3 coefficients need 3/,
    )
    expect(() => polynomialFit([0, 0, 0], [1, 2, 3], 1, { intercept: false })).toThrow('other than 0')
  })
  it('refuses a degree that is none and lists of unequal length', () => {
    expect(() => polynomialFit([1, 2], [1, 2], 1.5)).toThrow('degree')
    expect(() => polynomialFit([1, 2], [1, 2], 0, { intercept: false })).toThrow('from 1 up')
    expect(() => polynomialFit([1, 2], [1], 1)).toThrow('2 values of x and 1 of y')
  })
  it('recovers the polynomial that made the points', () => {
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -50, max: 50 }), { minLength: 1, maxLength: 7 }),
        fc.integer({ min: -300, max: 300 }),
        (coefficients, offset) => {
          const x = Array.from({ length: coefficients.length + 3 }, (_, i) => offset + 3 * i)
          const y = x.map((value) =>
            coefficients.reduce((sum, c, k) => sum + BigInt(c) * BigInt(value) ** BigInt(k), 0n),
          )
          if (y.some((value) => value > 2n ** 53n || value < -(2n ** 53n))) return true
          const found = polynomialFit(x, y.map(Number), coefficients.length - 1).coefficients
          // Far from zero and of degree six the powers are nearly parallel: doubles keep seven digits there at worst. A
          // coefficient of 0 has no size of its own: what is left of it is below any use.
          return near(found, coefficients, 1e-7)
        },
      ),
    )
  })
})

describe('conditionOfTriangle', () => {
  it('is 1 for columns at right angles and grows as they close', () => {
    expect(conditionOfTriangle([[5], [0, 2]])).toBe(1)
    // Two unit columns at an angle: (1 + cos)/(1 − cos), rooted.
    const cos = 0.8
    expect(conditionOfTriangle([[1], [cos, 0.6]])).toBeCloseTo(Math.sqrt((1 + cos) / (1 - cos)), 12)
  })
})
