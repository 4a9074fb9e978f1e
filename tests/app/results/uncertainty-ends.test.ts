import { describe, expect, it } from 'vitest'
import { NormalPartEnds, sortedEnds } from '../../../app/results/uncertainty-ends.ts'
import { BlockMeans } from '../../../app/results/uncertainty-trials.ts'
import { normalCdf } from '../../../app/statistics/normal.ts'
import { normalCdfFast } from '../../../app/statistics/normal-table.ts'
import { seededRandom } from '../../../app/statistics/random.ts'

const BLOCK = 10_000

/** Blocks of a rectangular error of standard deviation `sd`, with a normal one of 1 added where it is drawn. */
function found(sd: number, blocks: number, isDrawn: boolean) {
  const random = seededRandom(19)
  const ends = isDrawn ? sortedEnds(0.9545) : new NormalPartEnds(1, 2 * Math.hypot(1, sd), 0.9545)
  const means = new BlockMeans()
  for (let b = 0; b < blocks; b++) {
    const block = Float64Array.from(
      { length: BLOCK },
      () => sd * Math.sqrt(3) * (2 * random.uniform() - 1) + (isDrawn ? random.normal() : 0),
    )
    means.take(ends.of(block))
  }
  return means.found()
}

/**
 * End of the interval of a normal and a rectangular error of half-width a, by the distribution of their sum in closed form:
 * F(x) = (G(x + a) - G(x - a)) / 2a, G(z) = z Phi(z) + phi(z). JCGM 101:2008, 9.2.3, has the like for four rectangles.
 */
function exactEnd(sd: number): number {
  const a = sd * Math.sqrt(3)
  const g = (z: number) => z * normalCdf(z) + Math.exp(-z * z * 0.5) / Math.sqrt(2 * Math.PI)
  const p = normalCdf(2)
  let [low, high] = [0, 20]
  for (let i = 0; i < 100; i++) {
    const x = (low + high) / 2
    if ((g(x + a) - g(x - a)) / (2 * a) < p) low = x
    else high = x
  }
  return low
}

describe('the ends of an interval whose normal part is not drawn', () => {
  it.each([0.3, 1, 2.5])('are those of the sum, with a rectangle of %f of the normal part', (sd) => {
    const { low, high, u, numerical } = found(sd, 20, false)
    const end = exactEnd(sd)
    expect(numerical).toBeLessThan(0.02)
    expect(Math.abs(high - end)).toBeLessThan(2 * numerical + 1e-5)
    expect(Math.abs(low + end)).toBeLessThan(2 * numerical + 1e-5)
    expect(u / Math.hypot(1, sd)).toBeCloseTo(1, 2)
  })

  it('are known many times as well as by putting all trials in order', () => {
    const part = found(0.3, 20, false).numerical / found(0.3, 20, true).numerical
    expect(part).toBeLessThan(0.25)
  })

  it('agree with the trials put in order', () => {
    const [one, other] = [found(1, 20, false), found(1, 20, true)]
    expect(Math.abs(one.high - other.high)).toBeLessThan(2 * other.numerical)
    expect(Math.abs(one.low - other.low)).toBeLessThan(2 * other.numerical)
  })
})

describe('one step from where the first block found an end', () => {
  const ends = () => new NormalPartEnds(1, 2, 0.9545)

  it('is at two standard deviations where nothing but the normal part is there', () => {
    expect(ends().of(new Float64Array(2))).toEqual({
      u: 1,
      low: expect.closeTo(-2, 3),
      high: expect.closeTo(2, 3),
    })
    // However far off the search begins.
    const far = new NormalPartEnds(1, 5, 0.9545).of(new Float64Array(2))
    expect([far.low, far.high]).toEqual([expect.closeTo(-2, 3), expect.closeTo(2, 3)])
  })

  it('goes by the density there, and adds the variance of what is drawn', () => {
    const found = ends()
    found.of(new Float64Array(2))
    // Z = 0.1 in all trials: x = 2 - (Phi(1.9) - Phi(2)) / phi(2), of the tables 2 + (0.977250 - 0.971283) / 0.053991.
    const next = found.of(Float64Array.from([0.1, 0.1]))
    expect(next.high).toBeCloseTo(2 + (0.97725 - 0.971283) / 0.053991, 3)
    expect(next.low).toBeCloseTo(-2 + (0.02275 - 0.017864) / 0.053991, 3)
    expect(next.u).toBe(1)
    // The same with a normal part of 2: x = 4 - (Phi(1.95) - Phi(2)) / (phi(2) / 2).
    const wide = new NormalPartEnds(2, 4, 0.9545)
    expect(wide.of(new Float64Array(2)).high).toBeCloseTo(4, 3)
    expect(wide.of(Float64Array.from([0.1, 0.1])).high).toBeCloseTo(4 + (0.97725 - 0.974412) / 0.0269955, 3)
    // -1 and 1 have the variance 2 about their mean.
    expect(ends().of(Float64Array.from([-1, 1])).u).toBeCloseTo(Math.sqrt(3), 12)
  })
})

describe('normalCdfFast', () => {
  it('is within 5e-7 of the normal distribution function', () => {
    for (let z = -9; z < 9; z += 0.0137) expect(Math.abs(normalCdfFast(z) - normalCdf(z))).toBeLessThan(5e-7)
  })
})
