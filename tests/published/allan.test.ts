/**
 * W. J. Riley, Handbook of Frequency Stability Analysis, NIST Special Publication 1065 (2008): the nine-point and the
 * thousand-point test sets. Figures and their standing: figures/allan-deviation.json.
 *
 * Not checked: modified-total and time-total deviations (their printed values include a bias correction and are not in
 * the figures), and the bisection and first-difference slopes of the simple statistics (ways of estimating a drift that
 * this project does not use; the least-squares slope is checked).
 */
import { describe, expect, it } from 'vitest'
import { type AllanKind, allanDeviations } from '../../app/statistics/allan.ts'
import { seededRandom } from '../../app/statistics/random.ts'
import { medianOf } from '../../app/statistics/selection.ts'
import { describeWindow } from '../../app/statistics/window.ts'
import figures from './figures/allan-deviation.json' with { type: 'json' }

interface Row {
  id: string
  what?: string
  tau?: number | number[]
  published?: number | Record<string, number>
  computed?: number | number[]
  frequency?: number[]
  phase?: number[]
  [other: string]: unknown
}
const rows = figures.rows as Row[]
const nine = rows[0]!.frequency!

const thousandIntegers: number[] = []
for (let n = 1234567890; thousandIntegers.length < 1000; n = (16807 * n) % 2147483647)
  thousandIntegers.push(n)
const thousand = thousandIntegers.map((n) => n / 2147483647)
const setOf = ({ id }: Row) => (id === 'nine-point set' ? nine : thousand)

const KINDS: Readonly<Record<string, AllanKind>> = {
  'normal Allan': 'plain',
  'overlapping Allan': 'overlapping',
  'modified Allan': 'modified',
  time: 'time',
  Hadamard: 'hadamard',
  'overlapping Hadamard': 'overlapping-hadamard',
  total: 'total',
}

describe('the thousand-point set', () => {
  it('is generated as the publication says', () => {
    const data = rows.find(({ id, what }) => id === 'thousand-point set' && what === 'data')!
    expect(thousandIntegers.slice(0, 6)).toEqual(data.first_integers)
    expect(thousandIntegers.at(-1)).toBe(data.last_integer)
    expect(String(thousandIntegers.reduce((sum, n) => sum + n, 0))).toBe(data.sum_of_integers)
  })
})

describe('the nine-point set', () => {
  it('has the phase that the running sum of its frequency gives', () => {
    const mean = nine.reduce((sum, value) => sum + value, 0) / 9
    let phase = 0
    const found = [0, ...nine.map((value) => (phase += value - mean))]
    rows[0]!.phase!.forEach((published, i) => {
      // The publication cuts off after five decimals.
      expect(Math.abs(found[i]! - published)).toBeLessThan(2e-5)
    })
  })
})

const single = rows.filter((row) => row.what !== undefined && KINDS[row.what] !== undefined)
describe('allanDeviations', () => {
  it.each(single.map((row) => [`${row.what} at tau ${row.tau} of the ${row.id}`, row] as const))(
    'gives %s',
    (_, row) => {
      const [point] = allanDeviations(setOf(row), 1, {
        kind: KINDS[row.what!]!,
        averages: [row.tau as number],
      })
      expect(point!.tau).toBe(row.tau)
      expect(point!.deviation / (row.computed as number)).toBeCloseTo(1, 13)
      // Printed to seven digits, the last of them not always rounded.
      expect(Math.abs(point!.deviation / (row.published as number) - 1)).toBeLessThan(4e-7)
    },
  )
  const octaves = rows.filter(({ what }) => what?.endsWith(', octaves (computed)'))
  it.each(octaves.map((row) => [row.what!, row] as const))('gives the %s', (_, row) => {
    const kind = KINDS[row.what!.replace(', octaves (computed)', '')]!
    const found = allanDeviations(thousand, 1, { kind })
    expect(found.map(({ tau }) => tau)).toEqual(row.tau)
    found.forEach(({ deviation }, i) => {
      expect(deviation / (row.computed as number[])[i]!).toBeCloseTo(1, 13)
    })
  })
  it('checks all forty published deviations', () => {
    const averages = rows.filter(({ what }) => what === 'standard deviation (n - 1) of averages')
    expect(single.length + averages.length).toBe(40)
  })
})

describe('describeWindow', () => {
  const averaged = rows.filter(({ what }) => what === 'standard deviation (n - 1) of averages')
  it.each(averaged.map((row) => [row.id, row.tau, row] as const))(
    'gives the SD of averages of the %s at tau %s',
    (_, __, row) => {
      const m = row.tau as number
      const values = setOf(row)
      const averages = Array.from({ length: Math.floor(values.length / m) }, (___, j) =>
        values.slice(j * m, (j + 1) * m).reduce((sum, value) => sum + value / m, 0),
      )
      const { sd } = describeWindow(averages, m)
      expect(sd / (row.computed as number)).toBeCloseTo(1, 13)
      expect(Math.abs(sd / (row.published as number) - 1)).toBeLessThan(4e-7)
    },
  )
  const simple = rows.filter(({ what }) => what === 'simple statistics')
  it.each(simple.map((row) => [row.id, row] as const))('gives the simple statistics of the %s', (_, row) => {
    const published = row.published as Record<string, number>
    const values = setOf(row)
    const found = describeWindow(values, 1)
    const near = (value: number, printed: number) => expect(Math.abs(value / printed - 1)).toBeLessThan(5e-7)
    near(found.maximum, published.max!)
    // The smallest value is printed to six digits.
    expect(Math.abs(found.minimum / published.min! - 1)).toBeLessThan(5e-6)
    near(found.mean, published.mean!)
    near(found.sd, published.sd_n_minus_1!)
    near(medianOf(Float64Array.from(values)), published.median!)
    near(found.drift, published.linear_slope!)
    // The publication's line has x = 1, 2, ...: its value at x = 0 lies (n + 1)/2 steps before the middle.
    near(found.mean - found.drift * ((values.length + 1) / 2), published.intercept!)
  })
})

describe('the slopes of log deviation against log tau', () => {
  const slopes = rows.find(({ id }) => id === 'slopes')! as unknown as Record<string, number>
  const random = seededRandom(20)
  const white = Array.from({ length: 16384 }, () => random.normal())
  const slopeOf = (values: readonly number[], kind: AllanKind = 'overlapping') => {
    const points = allanDeviations(values, 1, { kind, averages: [1, 2, 4, 8, 16, 32, 64] })
    return describeWindow(
      points.map(({ deviation }) => Math.log2(deviation)),
      1,
    ).drift
  }
  let walk = 0
  const randomWalk = white.map((value) => (walk += value))
  const ramp = white.map((_, i) => i)
  const differences = white.slice(1).map((value, i) => value - white[i]!)
  it('are those of white, random walk and drifting values', () => {
    expect(slopeOf(white)).toBeCloseTo(slopes['white frequency']!, 1)
    expect(Math.abs(slopeOf(randomWalk) - slopes['random walk frequency']!)).toBeLessThan(0.1)
    expect(slopeOf(ramp)).toBeCloseTo(slopes['linear frequency drift']!, 6)
    expect(slopeOf(differences)).toBeCloseTo(slopes['white phase']!, 1)
  })
  it('tell white phase from flicker phase by the modified deviation, -1.5', () => {
    expect(Math.abs(slopeOf(differences, 'modified') + 1.5)).toBeLessThan(0.1)
  })
})
