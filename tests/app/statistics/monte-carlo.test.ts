import { describe, expect, it } from 'vitest'
import type { BudgetInput } from '../../../app/statistics/budget.ts'
import {
  atNormalDeviate,
  chiSquared,
  type Distribution,
  draw,
  standardUncertaintyOf,
} from '../../../app/statistics/distributions.ts'
import { readExpression } from '../../../app/statistics/expression-text.ts'
import { modelOf } from '../../../app/statistics/model.ts'
import { numericalTolerance, propagateDistributions } from '../../../app/statistics/monte-carlo.ts'
import { normalCdf, normalQuantile } from '../../../app/statistics/normal.ts'
import { seededRandom } from '../../../app/statistics/random.ts'
import { tQuantile } from '../../../app/statistics/student-t.ts'

const input = (name: string, value: number, distribution: Distribution): BudgetInput => ({
  name,
  value,
  distribution,
})
const normal = (name: string, value: number, sd: number) => input(name, value, { kind: 'normal', sd })
const expressionOf = (text: string, inputs: readonly BudgetInput[]) => ({
  inputs,
  model: modelOf(
    readExpression(
      text,
      inputs.map(({ name }) => name),
    ),
    inputs.length,
  ),
})

describe('seededRandom', () => {
  it('gives the published sequence of its generator from a known state', () => {
    // xoshiro128** written out a second time with whole numbers, from the state that the seed fills.
    const state = { words: [0n, 0n, 0n, 0n] }
    let fill = 12345n
    const mask = 0xffffffffn
    const mixed = () => {
      fill = (fill + 0x9e3779b9n) & mask
      let z = fill ^ (fill >> 16n)
      z = (z * 0x21f0aaadn) & mask
      z ^= z >> 15n
      z = (z * 0x735a2d97n) & mask
      return z ^ (z >> 15n)
    }
    state.words = [mixed(), mixed(), mixed(), mixed() | 1n]
    const turned = (x: bigint, k: bigint) => ((x << k) | (x >> (32n - k))) & mask
    const next = () => {
      const s = state.words
      const result = (turned((s[1]! * 5n) & mask, 7n) * 9n) & mask
      const t = (s[1]! << 9n) & mask
      s[2]! ^= s[0]!
      s[3]! ^= s[1]!
      s[1]! ^= s[2]!
      s[0]! ^= s[3]!
      s[2]! ^= t
      s[3] = turned(s[3]!, 11n)
      return result
    }
    const random = seededRandom(12345)
    for (let i = 0; i < 200; i++) {
      const [high, low] = [next(), next()]
      expect(random.uniform()).toBe((Number(high >> 5n) * 2 ** 26 + Number(low >> 6n) + 0.5) / 2 ** 53)
    }
  })
  it('gives uniform numbers in (0, 1) with even sixteenths and no memory', () => {
    const random = seededRandom(1)
    const n = 160_000
    const counts = new Float64Array(16)
    let product = 0
    let last = 0.5
    for (let i = 0; i < n; i++) {
      const u = random.uniform()
      expect(u > 0 && u < 1).toBe(true)
      counts[Math.floor(16 * u)]!++
      product += (u - 0.5) * (last - 0.5)
      last = u
    }
    const chi = counts.reduce((sum, count) => sum + (count - n / 16) ** 2 / (n / 16), 0)
    // Chi-squared of 15 degrees of freedom: 99.99 % lie below 44.3.
    expect(chi).toBeLessThan(44.3)
    expect(Math.abs(product / n)).toBeLessThan((4 * (1 / 12)) / Math.sqrt(n))
  })
  it('gives other sequences for neighbouring seeds and the same for the same', () => {
    const first = (seed: number) => seededRandom(seed).uniform()
    expect(first(5)).toBe(first(5))
    expect(new Set([0, 1, 2, -1, 2 ** 32, 2 ** 33].map(first)).size).toBe(6)
  })
})

const kinds: Distribution[] = [
  { kind: 'normal', sd: 2 },
  { kind: 't', scale: 1, degreesOfFreedom: 6 },
  { kind: 'rectangular', halfWidth: 1 },
  { kind: 'curvilinear-trapezoidal', halfWidth: 1, limits: 0.5 },
  { kind: 'triangular', halfWidth: 1 },
  { kind: 'trapezoidal', halfWidth: 1, ratio: 0.4 },
  { kind: 'arcsine', halfWidth: 1 },
  { kind: 'exponential', mean: 2 },
  { kind: 'constant' },
]

describe('draw', () => {
  it.each(kinds.map((distribution) => [distribution.kind, distribution] as const))(
    'of %s has its mean, its standard uncertainty and its quantiles',
    (_, distribution) => {
      const n = 200_000
      const column = new Float64Array(n)
      draw(distribution, 2, seededRandom(8), column, n)
      const mean = column.reduce((sum, x) => sum + x / n, 0)
      const sd = Math.sqrt(column.reduce((sum, x) => sum + (x - mean) ** 2 / n, 0))
      // The standard deviation of a t is wider than its scale.
      const widened = distribution.kind === 't' ? Math.sqrt(6 / 4) : 1
      const expected = widened * standardUncertaintyOf(distribution)
      expect(Math.abs(mean - 2)).toBeLessThanOrEqual((5 * expected) / Math.sqrt(n) + 1e-10)
      expect(Math.abs(sd - expected)).toBeLessThanOrEqual(0.02 * expected + 1e-10)
      if (distribution.kind === 'curvilinear-trapezoidal') return
      column.sort()
      for (const p of [0.02, 0.2, 0.45, 0.7, 0.97]) {
        const x = atNormalDeviate(distribution, 2, normalQuantile(p))
        const below = column.filter((value) => value < x).length / n
        if (distribution.kind !== 'constant') expect(Math.abs(below - p)).toBeLessThan(0.005)
      }
    },
  )
  it('stays inside the limits of bounded quantities', () => {
    const column = new Float64Array(20_000)
    for (const distribution of kinds.filter((kind) => 'halfWidth' in kind && !('limits' in kind))) {
      draw(distribution, 0, seededRandom(1), column, column.length)
      expect(column.every((x) => Math.abs(x) <= 1)).toBe(true)
      expect(Math.abs(atNormalDeviate(distribution, 0, 8))).toBeLessThanOrEqual(1)
    }
  })
})

describe('chiSquared', () => {
  it.each([0.8, 1, 3, 30])('has mean ν and variance 2ν for ν = %s', (dof) => {
    const random = seededRandom(2)
    const n = 100_000
    const values = Float64Array.from({ length: n }, () => chiSquared(dof, random))
    const mean = values.reduce((sum, x) => sum + x / n, 0)
    const variance = values.reduce((sum, x) => sum + (x - mean) ** 2 / n, 0)
    expect(mean / dof).toBeCloseTo(1, 1)
    expect(variance / (2 * dof)).toBeGreaterThan(0.93)
    expect(variance / (2 * dof)).toBeLessThan(1.07)
  })

  it('takes and refuses as the density says, whatever its quick look says', () => {
    // Marsaglia and Tsang (2000), from memory: x is taken with probability exp(x²/2 + d − dv + d ln v), v = (1 + cx)³.
    for (const dof of [2, 2.5, 4, 30])
      for (let x = -4; x <= 4; x += 0.05) {
        const d = dof / 2 - 1 / 3
        const v = (1 + x / Math.sqrt(9 * d)) ** 3
        const taken = v > 0 ? Math.exp(0.5 * x * x + d - d * v + d * Math.log(v)) : 0
        for (const u of [0.5 * taken, taken - 1e-8, taken + 1e-8, 0.5 + 0.5 * taken]) {
          if (!(u > 0 && u < 1)) continue
          const normals = [x, 0]
          const random = {
            normal: () => normals.shift()!,
            uniform: () => (normals.length === 1 ? u : 0.5),
            bits: () => 0,
          }
          // What is refused is drawn anew, here as 0, whose v is 1.
          const expected = 2 * d * (u < taken ? v : 1)
          expect(chiSquared(dof, random)).toBeCloseTo(expected, 10)
        }
      }
  })
})

describe('propagateDistributions', () => {
  it('is the same for the same seed and another for another', () => {
    const plain = expressionOf('a^2', [normal('a', 1, 1)])
    const run = (seed: number) => propagateDistributions(plain, { trials: 5000, seed })
    expect(run(3)).toEqual(run(3))
    expect(run(3).value).not.toBe(run(4).value)
  })
  it('takes a plain function as well as an expression', () => {
    const inputs = [normal('a', 1, 0.1), normal('b', 2, 0.1)]
    const byText = propagateDistributions(expressionOf('a*b', inputs), { trials: 5000 })
    const byFunction = propagateDistributions(
      { inputs, model: { value: (x) => x[0]! * x[1]! } },
      { trials: 5000 },
    )
    expect(byFunction).toEqual(byText)
  })
  it.each([0.9, -0.5, 1])('draws normal inputs with a correlation of %s', (r) => {
    const inputs = [normal('a', 0, 1), normal('b', 0, 2)]
    const found = propagateDistributions(
      { ...expressionOf('a + b', inputs), correlations: [{ a: 'a', b: 'b', r }] },
      { trials: 200_000 },
    )
    expect(found.standardUncertainty / Math.sqrt(5 + 4 * r)).toBeCloseTo(1, 1.9)
  })
  it('draws correlated rectangular inputs that stay rectangular', () => {
    const inputs = [
      input('a', 0, { kind: 'rectangular', halfWidth: 1 }),
      input('b', 0, { kind: 'rectangular', halfWidth: 1 }),
    ]
    const correlations = [{ a: 'a', b: 'b', r: 0.8 }]
    const single = propagateDistributions({ ...expressionOf('a', inputs), correlations }, { trials: 100_000 })
    expect(single.standardUncertainty * Math.sqrt(3)).toBeCloseTo(1, 1.9)
    expect(single.symmetric[1]).toBeCloseTo(0.95, 1.9)
    const sum = propagateDistributions(
      { ...expressionOf('a + b', inputs), correlations },
      { trials: 100_000 },
    )
    expect(sum.standardUncertainty).toBeGreaterThan(1.05)
    expect(sum.symmetric[1]).toBeLessThanOrEqual(2)
  })
  it('draws inputs observed together as a joint t', () => {
    const t = (name: string) => input(name, 0, { kind: 't', scale: 1, degreesOfFreedom: 4 })
    const inputs = [t('a'), t('b')]
    const found = propagateDistributions(
      { ...expressionOf('a + b', inputs), correlations: [{ a: 'a', b: 'b', r: 0.5 }] },
      { trials: 400_000 },
    )
    // A sum of a joint t is a t of the same ν, here of scale √3.
    expect(found.symmetric[1] / (Math.sqrt(3) * tQuantile(0.975, 4))).toBeCloseTo(1, 1.7)
  })
  it('holds the promised probability', () => {
    const found = propagateDistributions(expressionOf('exp(a)', [normal('a', 0, 0.5)]), { trials: 400_000 })
    const inside = ([low, high]: readonly [number, number]) =>
      normalCdf(Math.log(high) / 0.5) - normalCdf(Math.log(low) / 0.5)
    expect(inside(found.symmetric)).toBeCloseTo(0.95, 2)
    expect(inside(found.shortest)).toBeCloseTo(0.95, 2)
    expect(found.shortest[1] - found.shortest[0]).toBeLessThan(found.symmetric[1] - found.symmetric[0])
  })
  it('goes on until the digits asked for are stable, and says when it gave up', () => {
    const plain = expressionOf('a', [normal('a', 0, 1)])
    const two = propagateDistributions(plain, { adaptive: true })
    const three = propagateDistributions(plain, { adaptive: true, digits: 3, maximumTrials: 10_000_000 })
    expect(two).toMatchObject({ stable: true, tolerance: 0.05 })
    expect(three).toMatchObject({ stable: true, tolerance: 0.005 })
    expect(three.trials).toBeGreaterThan(4 * two.trials)
    expect(propagateDistributions(plain, { adaptive: true, digits: 4, maximumTrials: 50_000 })).toMatchObject(
      { stable: false },
    )
  })
  it('takes sequences that are long enough for the tails that count', () => {
    // JCGM 101:2008, 7.9.4 b: the larger of ten thousand and 100/(1 - p).
    const plain = expressionOf('a', [normal('a', 0, 1)])
    const trials = (coverage: number, maximumTrials: number) =>
      propagateDistributions({ ...plain, coverage }, { adaptive: true, digits: 3, maximumTrials }).trials
    expect(trials(0.95, 35_000)).toBe(30_000)
    expect(trials(0.998, 110_000)).toBe(100_000)
    expect(() => trials(0.998, 99_999)).toThrow('needs room')
  })
  it('keeps a small uncertainty on a large value', () => {
    const found = propagateDistributions(expressionOf('a', [normal('a', 1e9, 1e-3)]), { trials: 50_000 })
    expect(found.standardUncertainty / 1e-3).toBeCloseTo(1, 1.5)
  })
  it('refuses a model that is not defined where its inputs reach, and runs that cannot be', () => {
    const plain = expressionOf('sqrt(a)', [normal('a', 1, 1)])
    expect(() => propagateDistributions(plain, { trials: 1000 })).toThrow(
      /no finite value in \d+ of 1000 trials/,
    )
    const fine = expressionOf('a', [normal('a', 1, 1)])
    expect(() => propagateDistributions(fine, { trials: 0 })).toThrow('number of trials')
    expect(() => propagateDistributions(fine, { trials: 1e9 })).toThrow('number of trials')
    expect(() => propagateDistributions(fine, { trials: 10 })).toThrow('too few')
    expect(() => propagateDistributions(fine, { seed: 0.5 })).toThrow('seed')
    expect(() => propagateDistributions(fine, { adaptive: true, digits: 0 })).toThrow('digits')
    expect(() => propagateDistributions(fine, { adaptive: true, maximumTrials: 100 })).toThrow('needs room')
  })
})

describe('numericalTolerance', () => {
  it.each([
    [0.0539, 2, 0.0005],
    [0.0539, 1, 0.005],
    [2, 2, 0.05],
    [0.0999, 2, 0.005],
    [1234, 2, 50],
    [0, 2, 0],
  ])('of u = %s with %s digits is %s', (u, digits, delta) => {
    expect(numericalTolerance(u, digits)).toBe(delta)
  })
})
