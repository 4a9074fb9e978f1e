import { describe, expect, it } from 'vitest'
import { errorDraws } from '../../../app/results/uncertainty-draws.ts'
import { correlationBetween, type ErrorSource } from '../../../app/results/uncertainty-sources.ts'
import { seededRandom } from '../../../app/statistics/random.ts'

const CELSIUS = [0, 40, 120]
const COUNT = 60_000

const source = (more: Partial<ErrorSource>): ErrorSource => ({
  component: 'c',
  name: 'c',
  source: 's',
  kind: 'B',
  distribution: 'normal',
  correlation: { kind: 'independent' },
  referenceRelative: [0, 0, 0],
  underTestRelative: [0, 0, 0],
  temperatureMk: [0, 0, 0],
  degreesOfFreedom: CELSIUS.map(() => Number.POSITIVE_INFINITY),
  ...more,
})

const OF = ['reference', 'underTest', 'temperature'] as const
const KEY = {
  reference: 'referenceRelative',
  underTest: 'underTestRelative',
  temperature: 'temperatureMk',
} as const

function drawn(sources: readonly ErrorSource[]): Record<(typeof OF)[number], Float64Array[]> {
  const columns = OF.flatMap((of) =>
    CELSIUS.map((_, point) => ({ point, actOf: (s: ErrorSource) => s[KEY[of]][point]! })),
  )
  const into = columns.map(() => new Float64Array(COUNT))
  errorDraws(sources, CELSIUS, columns)(seededRandom(7), into)
  return { reference: into.slice(0, 3), underTest: into.slice(3, 6), temperature: into.slice(6) }
}

const mean = (a: Float64Array, b: Float64Array) => a.reduce((sum, x, k) => sum + x * b[k]!, 0) / COUNT
const correlation = (a: Float64Array, b: Float64Array) => mean(a, b) / Math.sqrt(mean(a, a) * mean(b, b))

describe('errorDraws', () => {
  it('draws all normal sources at once with the covariance of their sum', () => {
    const shared = source({
      correlation: { kind: 'common' },
      referenceRelative: [2, 2, 2],
      underTestRelative: [-1, -1, -1],
    })
    const places = source({ correlation: { kind: 'smooth', lengthK: 50 }, temperatureMk: [1, 1, 3] })
    const noise = source({ temperatureMk: [0.5, 0.5, 0.5] })
    const { reference, underTest, temperature } = drawn([shared, places, noise])
    expect(mean(reference[0]!, reference[0]!)).toBeCloseTo(4, 1)
    expect(correlation(reference[0]!, reference[2]!)).toBeCloseTo(1, 9)
    expect(correlation(reference[0]!, underTest[1]!)).toBeCloseTo(-1, 9)
    expect(Math.abs(correlation(reference[0]!, temperature[0]!))).toBeLessThan(0.02)
    const r = correlationBetween({ kind: 'smooth', lengthK: 50 }, 0, 1, 40)
    expect(mean(temperature[0]!, temperature[0]!)).toBeCloseTo(1.25, 1)
    expect(Math.abs(mean(temperature[0]!, temperature[1]!) - r)).toBeLessThan(0.02)
    expect(mean(temperature[2]!, temperature[2]!)).toBeCloseTo(9.25, 0)
  })

  it('widens all points of a trial by one factor where one estimate of their size serves them all', () => {
    const dof = 6
    const { temperature } = drawn([
      source({ distribution: 't', temperatureMk: [1, 1, 1], degreesOfFreedom: CELSIUS.map(() => dof) }),
    ])
    // Variance of t is nu/(nu - 2); the errors are uncorrelated, their squares are not.
    expect(mean(temperature[0]!, temperature[0]!)).toBeCloseTo(dof / (dof - 2), 1)
    expect(Math.abs(correlation(temperature[0]!, temperature[1]!))).toBeLessThan(0.02)
    const squares = temperature.map((column) => column.map((x) => x * x - dof / (dof - 2)))
    expect(correlation(squares[0]!, squares[1]!)).toBeGreaterThan(0.1)
  })

  it('widens sources that are one estimate by one factor, and others each by its own', () => {
    const one = (estimate: string, at: number): ErrorSource =>
      source({
        distribution: 't',
        degreesOfFreedom: CELSIUS.map(() => 5),
        temperatureMk: CELSIUS.map((_, i) => Number(i === at)),
        estimate,
      })
    const squares = ({ temperature }: ReturnType<typeof drawn>) =>
      [temperature[0]!, temperature[1]!].map((a) => a.map((x) => Math.log(x * x)))
    const together = (list: Float64Array[]) => {
      const centred = list.map((a) => {
        const m = a.reduce((sum, x) => sum + x, 0) / COUNT
        return a.map((x) => x - m)
      })
      return correlation(centred[0]!, centred[1]!)
    }
    // Of ln t^2 = ln z^2 - ln(chi^2/nu) the second part is shared: trigamma(5/2) / (trigamma(1/2) + trigamma(5/2)) = 0.0905.
    expect(together(squares(drawn([one('a', 0), one('a', 1)])))).toBeGreaterThan(0.07)
    expect(Math.abs(together(squares(drawn([one('a', 0), one('b', 1)]))))).toBeLessThan(0.015)
  })

  it('takes a size without end of degrees of freedom as known', () => {
    const { temperature } = drawn([
      source({
        distribution: 't',
        temperatureMk: [1, 1, 1],
        degreesOfFreedom: [6, 6, Number.POSITIVE_INFINITY],
      }),
    ])
    expect(mean(temperature[2]!, temperature[2]!)).toBeCloseTo(1, 1)
    expect(mean(temperature[0]!, temperature[0]!)).toBeCloseTo(1.5, 1)
  })

  it.each(['rectangular', 'triangular', 'arcsine'] as const)(
    'keeps a %s distribution within its bounds, alike at near temperatures',
    (distribution) => {
      const half = { rectangular: Math.sqrt(3), triangular: Math.sqrt(6), arcsine: Math.SQRT2 }[distribution]
      for (const kind of ['independent', 'common', 'smooth'] as const) {
        const { temperature } = drawn([
          source({
            distribution,
            correlation: kind === 'smooth' ? { kind, lengthK: 100 } : { kind },
            temperatureMk: [1, 1, 1],
          }),
        ])
        const [first, second] = temperature as [Float64Array, Float64Array]
        expect(first.reduce((most, x) => Math.max(most, Math.abs(x)), 0)).toBeLessThanOrEqual(half * 1.000001)
        expect(mean(first, first)).toBeCloseTo(1, 1)
        const r = correlation(first, second)
        if (kind === 'common') expect(r).toBeCloseTo(1, 9)
        else if (kind === 'independent') expect(Math.abs(r)).toBeLessThan(0.02)
        else expect(r).toBeGreaterThan(0.85)
      }
    },
  )
})
