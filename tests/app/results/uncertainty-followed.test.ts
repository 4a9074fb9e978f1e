import { describe, expect, it } from 'vitest'
import { pointErrors } from '../../../app/results/uncertainty-followed.ts'
import { responseOf } from '../../../app/results/uncertainty-response.ts'
import type { ErrorSource } from '../../../app/results/uncertainty-sources.ts'
import { pooledSummary, summaryOf } from '../../../app/results/uncertainty-trials.ts'
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
  const draws = pointErrors(fit, thermometer, [{ ...BASE, underTestRelative: [relative] }], [uMk], 2, TRIALS)
  return { errors: draws(seededRandom(3))[0]!, celsius }
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

describe('pooledSummary', () => {
  it.each([0.95, 0.9545, 0.99])('says of all trials what sorting them says, at %s', (coverage) => {
    const random = seededRandom(5)
    const values = Float64Array.from({ length: 60_000 }, () => 3 + random.normal() ** 3)
    const sorted = values.slice().sort()
    const blocks = Array.from({ length: 6 }, (_, b) =>
      summaryOf(values.subarray(b * 10_000, (b + 1) * 10_000), coverage),
    )
    const { u, low, high } = pooledSummary(values, blocks, coverage)
    const whole = summaryOf(sorted.slice(), coverage)
    expect(sorted.indexOf(low)).toBe(sorted.indexOf(whole.low))
    expect(sorted.indexOf(high)).toBe(sorted.indexOf(whole.high))
    expect(u).toBeCloseTo(whole.u, 9)
    const tail = (1 - coverage) / 2
    expect(Math.abs(sorted.indexOf(low) / 60_000 - tail)).toBeLessThan(1e-3)
  })
})
