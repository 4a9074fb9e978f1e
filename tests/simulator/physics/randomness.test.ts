import { describe, expect, it } from 'vitest'
import { RatioElectronics } from '../../../simulator/physics/electronics.ts'
import { randomStream, Wander } from '../../../simulator/physics/randomness.ts'

function moments(values: readonly number[]): { mean: number; sd: number } {
  const mean = values.reduce((a, b) => a + b, 0) / values.length
  const sd = Math.sqrt(values.reduce((a, b) => a + (b - mean) ** 2, 0) / (values.length - 1))
  return { mean, sd }
}

describe('randomStream', () => {
  it('gives the same numbers for the same seed and name', () => {
    const [a, b] = [randomStream(4, 'x'), randomStream(4, 'x')]
    expect(Array.from({ length: 50 }, () => a.normal())).toEqual(Array.from({ length: 50 }, () => b.normal()))
  })

  it('gives unrelated numbers for another name or seed', () => {
    const streams = [randomStream(4, 'x'), randomStream(4, 'y'), randomStream(5, 'x')]
    const series = streams.map((stream) => Array.from({ length: 4000 }, () => stream.normal()))
    for (const [i, j] of [
      [0, 1],
      [0, 2],
      [1, 2],
    ] as const) {
      const product = series[i]!.map((value, k) => value * series[j]![k]!)
      expect(Math.abs(moments(product).mean)).toBeLessThan(4 / Math.sqrt(4000))
    }
  })

  it('is uniform and standard normal', () => {
    const stream = randomStream(9, 'moments')
    const uniform = moments(Array.from({ length: 40_000 }, () => stream.uniform()))
    expect(uniform.mean).toBeCloseTo(0.5, 2)
    expect(uniform.sd).toBeCloseTo(Math.sqrt(1 / 12), 2)
    const normals = Array.from({ length: 40_000 }, () => stream.normal())
    expect(Math.abs(moments(normals).mean)).toBeLessThan(0.02)
    expect(moments(normals).sd).toBeCloseTo(1, 1)
    const beyond = normals.filter((value) => Math.abs(value) > 1.96).length / normals.length
    expect(beyond).toBeGreaterThan(0.045)
    expect(beyond).toBeLessThan(0.055)
  })
})

describe('Wander', () => {
  it('keeps its standard deviation and forgets within its memory', () => {
    const wander = new Wander(randomStream(2, 'wander'), 3, 10, 1)
    const values = Array.from({ length: 60_000 }, () => {
      wander.step()
      return wander.value
    })
    const { mean, sd } = moments(values)
    expect(sd).toBeGreaterThan(2.8)
    expect(sd).toBeLessThan(3.2)
    const lagged = values.slice(10).map((value, i) => (value - mean) * (values[i]! - mean))
    expect(moments(lagged).mean / sd ** 2).toBeCloseTo(Math.exp(-1), 1)
  })
})

describe('RatioElectronics', () => {
  const design = { noiseV: 12e-9, linearityRatio: 5e-8, resolutionRatio: 1e-9, highestRatio: 4.2 }

  it('has a linearity error of the stated standard deviation over many bridges', () => {
    const errors = Array.from({ length: 3000 }, (_, seed) =>
      new RatioElectronics(design, randomStream(seed, 'electronics')).nonlinearity(1.3),
    )
    expect(moments(errors).sd / design.linearityRatio).toBeCloseTo(1, 1)
  })

  it('is quieter with more current and with averaging, and shows whole steps', () => {
    const bridge = new RatioElectronics(design, randomStream(1, 'noise'))
    const spread = (singles: number, currentA: number) =>
      moments(Array.from({ length: 2000 }, () => bridge.indicate(1.3, singles, currentA, 100))).sd
    const plain = spread(1, 1e-3)
    expect(plain / 1.2e-7).toBeCloseTo(1, 1)
    expect(spread(4, 1e-3) / plain).toBeCloseTo(0.5, 1)
    expect(spread(1, Math.SQRT2 * 1e-3) / plain).toBeCloseTo(Math.SQRT1_2, 1)
    const steps = bridge.indicate(1.3, 1, 1e-3, 100) / design.resolutionRatio
    expect(Math.abs(steps - Math.round(steps))).toBeLessThan(1e-4)
  })
})
