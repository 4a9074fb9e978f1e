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

describe('pointErrors, where all conversions are lines', () => {
  const reference = prepare({ kind: 'callendar-van-dusen', r0: '25.5', a: '3.9083e-3', b: '-5.775e-7', c: 0 })
  const underTest = prepare({ kind: 'callendar-van-dusen', r0: '100', a: '3.9083e-3', b: '-5.775e-7', c: 0 })
  const celsius = [20, 80]
  const pairs = celsius.map((t) => ({
    underTest: { signal: underTest.toSignal(t).value },
    reference: { signal: reference.toSignal(t).value },
    referenceC: t,
  }))
  const fit = { pairs, prepared: underTest } as unknown as Parameters<typeof pointErrors>[0]
  const source = (more: Partial<ErrorSource>): ErrorSource => ({
    ...BASE,
    correlation: { kind: 'common' },
    temperatureMk: [0, 0],
    referenceRelative: [0, 0],
    underTestRelative: [0, 0],
    degreesOfFreedom: [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY],
    ...more,
  })
  /** mK for a relative change of the signal: R / (dR/dt). */
  const mkOf = (thermometer: typeof reference, t: number) => {
    const { value, dValueDInput } = thermometer.toSignal(t)
    return (value / dValueDInput) * 1e3
  }
  const normalOf = (sources: readonly ErrorSource[]) =>
    pointErrors(fit, reference, sources, [5, 5], 2, 10, () => true).normal!

  it('adds what one source does to the reference and to the temperature, and takes off what it does to the item', () => {
    const normal = normalOf([
      source({ temperatureMk: [3, 4], referenceRelative: [2e-6, 2e-6], underTestRelative: [1e-6, 3e-6] }),
    ])
    const effects = celsius.map(
      (t, i) => [3, 4][i]! + 2e-6 * mkOf(reference, t) - [1e-6, 3e-6][i]! * mkOf(underTest, t),
    )
    // As its definition has it (JCGM 100:2008, equation (F.2)): of one error at two points the product of what it does to both.
    for (const [i, j] of [
      [0, 0],
      [0, 1],
      [1, 1],
    ] as const)
      expect(normal(i, j) / (effects[i]! * effects[j]!)).toBeCloseTo(1, 4)
  })

  it('lets a resistor that both share cancel, and adds sources that are free of each other', () => {
    const shared = source({ referenceRelative: [2e-6, 2e-6], underTestRelative: [2e-6, 2e-6] })
    expect(Math.abs(normalOf([shared])(0, 0))).toBeLessThan(1e-4)
    const [one, two] = [source({ temperatureMk: [3, 3] }), source({ component: 'd', temperatureMk: [4, 4] })]
    expect(normalOf([one, two])(0, 1)).toBeCloseTo(25, 6)
    const independent = source({ temperatureMk: [3, 3], correlation: { kind: 'independent' } })
    expect(normalOf([independent])(0, 1)).toBe(0)
    expect(normalOf([independent])(1, 1)).toBeCloseTo(9, 6)
  })

  it('draws what is not normal, and nothing else', () => {
    const sources = [
      source({ temperatureMk: [3, 3] }),
      source({ component: 'd', distribution: 'rectangular', temperatureMk: [2, 2] }),
    ]
    const { draw, normal } = pointErrors(fit, reference, sources, [5, 5], 2, TRIALS, () => true)
    expect(normal!(0, 0)).toBeCloseTo(9, 6)
    const [first, second] = draw(seededRandom(5))
    // A rectangle of standard deviation 2 mK ends at 2 sqrt(3) mK.
    expect(Math.max(...first!)).toBeLessThanOrEqual(2 * Math.sqrt(3) + 1e-6)
    expect(Math.sqrt(meanOf(first!.map((x) => x * x)))).toBeCloseTo(2, 1)
    // One error at both points.
    expect(Math.abs(first![7]! - second![7]!)).toBeLessThan(1e-6)
    const all = pointErrors(fit, reference, sources, [5, 5], 2, TRIALS, () => false)
    expect(all.normal).toBeNull()
    expect(Math.sqrt(meanOf(all.draw(seededRandom(5))[0]!.map((x) => x * x)))).toBeCloseTo(Math.sqrt(13), 1)
  })
})
