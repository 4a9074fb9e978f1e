import { describe, expect, it } from 'vitest'
import { pointErrors } from '../../../app/results/uncertainty-followed.ts'
import { responseOf } from '../../../app/results/uncertainty-response.ts'
import type { ErrorSource } from '../../../app/results/uncertainty-sources.ts'
import { BlockMeans, summaryOf } from '../../../app/results/uncertainty-trials.ts'
import { seededRandom } from '../../../app/statistics/random.ts'
import { prepare } from '../../../app/thermometry/convert.ts'

const TRIALS = 40_000
const thermometer = prepare({ kind: 'beta', r0: '10000', beta: '3500' })
const BASE: Omit<ErrorSource, 'underTestRelative'> = {
  component: 'c',
  name: 'c',
  source: 's',
  kind: 'B',
  distribution: 'normal',
  correlation: { kind: 'independent' },
  referenceRelative: [0],
  temperatureMk: [0],
  degreesOfFreedom: [Number.POSITIVE_INFINITY],
}

function errorsFor(relative: number): { errors: Float64Array; celsius: (r: number) => number } {
  const signal = thermometer.toSignal(40).value
  const celsius = (r: number) => thermometer.toTemperature(signal * (1 + r)).value
  const pair = { underTest: { signal }, reference: null, referenceC: 40 }
  const fit = { pairs: [pair], prepared: thermometer } as unknown as Parameters<typeof pointErrors>[0]
  const uMk = Math.abs(celsius(relative) - celsius(0)) * 1e3
  const sources = [{ ...BASE, underTestRelative: [relative] }]
  const { draw } = pointErrors(fit, thermometer, sources, [uMk], 2, TRIALS, () => false)
  return { errors: draw(seededRandom(3))[0]!, celsius }
}

const meanOf = (values: Float64Array) => values.reduce((sum, x) => sum + x, 0) / values.length

describe('pointErrors', () => {
  it('takes a conversion as a line only where it is one: a large error bends, with the mean that its curvature gives', () => {
    const relative = 0.2
    const { errors, celsius } = errorsFor(relative)
    // The mean of a parabola over a normal error is half its second derivative times the variance.
    const bend = ((celsius(relative) + celsius(-relative) - 2 * celsius(0)) / 2) * 1e3
    const u = Math.sqrt(meanOf(errors.map((x) => x * x)))
    expect(Math.abs(bend)).toBeGreaterThan((10 * u) / Math.sqrt(TRIALS))
    expect(Math.abs(-meanOf(errors) - bend)).toBeLessThan((4 * u) / Math.sqrt(TRIALS))
  })

  it('follows a small error by the slope of the conversion', () => {
    const relative = 2e-5
    const { errors, celsius } = errorsFor(relative)
    const slope = ((celsius(relative) - celsius(-relative)) / 2) * 1e3
    const u = Math.sqrt(meanOf(errors.map((x) => x * x)))
    expect(u / Math.abs(slope)).toBeCloseTo(1, 1)
    expect(Math.abs(meanOf(errors))).toBeLessThan((4 * u) / Math.sqrt(TRIALS))
  })
})

describe('responseOf', () => {
  const random = seededRandom(11)
  const matrix = (rows: number, columns: number) =>
    Array.from({ length: rows }, () => Array.from({ length: columns }, () => random.normal()))
  const product = (a: number[][], b: number[][]) =>
    a.map((row) => b[0]!.map((_, j) => row.reduce((sum, x, k) => sum + x * b[k]![j]!, 0)))

  it.each([
    {
      name: 'a curve of four parameters through thirty points',
      weights: product(matrix(30, 4), matrix(4, 30)),
    },
    { name: 'as many parameters as points', weights: matrix(5, 5) },
  ])('gives what the weights give: $name', ({ weights }) => {
    const columns = weights[0]!.map(() => Float64Array.from({ length: 7 }, () => random.normal()))
    const into = weights.map(() => new Float64Array(7))
    responseOf(weights)(columns, into)
    weights.forEach((row, i) => {
      for (let k = 0; k < 7; k++)
        expect(into[i]![k]).toBeCloseTo(
          row.reduce((sum, w, j) => sum + w * columns[j]![k]!, 0),
          4,
        )
    })
  })
})

describe('BlockMeans', () => {
  it.each([0.95, 0.9545, 0.99])('says of blocks what all trials put in order say, at %s', (coverage) => {
    const random = seededRandom(5)
    const values = Float64Array.from({ length: 200_000 }, () => 3 + random.normal() ** 3)
    const means = new BlockMeans()
    for (let k = 0; k < values.length; k += 10_000)
      means.take(summaryOf(values.slice(k, k + 10_000), coverage))
    const whole = summaryOf(values.slice(), coverage)
    const { u, low, high, numerical } = means.found()
    expect(u / whole.u).toBeCloseTo(1, 3)
    expect(Math.abs(low - whole.low)).toBeLessThan(0.3 * numerical)
    expect(Math.abs(high - whole.high)).toBeLessThan(0.3 * numerical)
  })

  it('sums up a block as JCGM 101:2008, 7.6 and 7.7, do', () => {
    // Of ten trials in order the first and the ninth enclose eight tenths: q = 8, r = (10 - 8) / 2.
    const ten = Float64Array.from([7, 3, 10, 1, 5, 9, 2, 8, 6, 4])
    const { u, low, high } = summaryOf(ten, 0.8)
    expect([low, high]).toEqual([1, 9])
    expect(u).toBeCloseTo(Math.sqrt(82.5 / 9), 12)
    expect(summaryOf(Float64Array.from([12, 14]), 0.95)).toEqual({ u: Math.SQRT2, low: 12, high: 14 })
  })

  it('tells how far the ends are open: twice the standard deviation of the mean, JCGM 101:2008, 7.9.4', () => {
    const means = new BlockMeans()
    for (const end of [1, 2, 4, 5]) means.take({ u: 1, low: -3, high: end })
    expect(means.found().numerical).toBeCloseTo(2 * Math.sqrt(10 / (4 * 3)), 12)
    expect(means.found().high).toBe(3)
  })
})
