import { first, needed, neighbours, zip } from '../base/lists.ts'
import { type AllanKind, allanDeviations } from '../statistics/allan.ts'
import { seededRandom } from '../statistics/random.ts'
import { medianOf } from '../statistics/selection.ts'
import { describeWindow } from '../statistics/window.ts'
import figures from './figures/allan-deviation.json' with { type: 'json' }
import { namedNumbers } from './named-numbers.ts'
import { publication } from './publication.ts'

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
const { frequency, phase } = first(rows)
const nine = needed(frequency, 'frequency of the nine-point set')
const rowWhere = (is: (row: Row) => boolean, words: string) => needed(rows.find(is), words)

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
/** Printed to seven digits, the last of them not always rounded. */
const PRINTED = 4e-7
const COMPUTED = 0.5e-13

const OCTAVES = ', octaves (computed)'
/** The rows of deviations, each with its kind: at one τ, and at every octave. */
const ofKind = (words: (what: string) => string) =>
  rows.flatMap((row) => {
    const kind = row.what === undefined ? undefined : KINDS[words(row.what)]
    return kind === undefined ? [] : [{ row, kind }]
  })
const single = ofKind((what) => what)
const octaves = ofKind((what) => (what.endsWith(OCTAVES) ? what.slice(0, -OCTAVES.length) : ''))
const averaged = rows.filter(({ what }) => what === 'standard deviation (n - 1) of averages')
const simple = rows.filter(({ what }) => what === 'simple statistics')

const slopeOf = (values: readonly number[], kind: AllanKind = 'overlapping') =>
  describeWindow(
    allanDeviations(values, 1, { kind, averages: [1, 2, 4, 8, 16, 32, 64] }).map(({ deviation }) =>
      Math.log2(deviation),
    ),
    1,
  ).drift

export const allan = publication(
  {
    id: 'allan',
    source:
      'W. J. Riley, Handbook of Frequency Stability Analysis, NIST Special Publication 1065 (2008): the nine-point and the thousand-point test sets',
    standing: figures.how_obtained,
    notChecked: [
      'Modified-total and time-total deviations: the printed values include a bias correction, and the program does not offer them.',
      'Bisection and first-difference slopes of the simple statistics: ways of estimating a drift that are not used; the least-squares slope is checked.',
    ],
  },
  (check) => {
    check('the thousand-point set is generated as the publication says', (f) => {
      const data = rowWhere(
        ({ id, what }) => id === 'thousand-point set' && what === 'data',
        'thousand-point set',
      )
      f.same('first integers', thousandIntegers.slice(0, 6), data.first_integers)
      f.same('last integer', thousandIntegers.at(-1), data.last_integer)
      f.same('sum of integers', String(thousandIntegers.reduce((sum, n) => sum + n, 0)), data.sum_of_integers)
    })
    check('the nine-point set has the phase that the running sum of its frequency gives', (f) => {
      const mean = nine.reduce((total, value) => total + value, 0) / 9
      let sum = 0
      const found = [0, ...nine.map((value) => (sum += value - mean))]
      // The publication cuts off after five decimals.
      const published = needed(phase, 'phase of the nine-point set')
      for (const [i, [own, printed]] of zip(found, published).entries())
        f.near(`phase ${i}`, own, printed, 2e-5)
    })
    for (const { row, kind } of single) {
      check(`${row.what} deviation at τ = ${row.tau} of the ${row.id}`, (f) => {
        const point = first(allanDeviations(setOf(row), 1, { kind, averages: [row.tau as number] }))
        f.same('τ', point.tau, row.tau)
        f.relative('computed', point.deviation, row.computed as number, COMPUTED)
        f.relative('published', point.deviation, row.published as number, PRINTED)
      })
    }
    for (const { row, kind } of octaves) {
      check(`deviation, ${row.what}`, (f) => {
        const found = allanDeviations(thousand, 1, { kind })
        f.same(
          'τ',
          found.map(({ tau }) => tau),
          row.tau,
        )
        for (const [{ deviation, tau }, computed] of zip(found, row.computed as number[]))
          f.relative(`τ = ${tau}`, deviation, computed, COMPUTED)
      })
    }
    check('all forty published deviations are checked', (f) => {
      f.same('deviations', single.length + averaged.length, 40)
    })
    for (const row of averaged) {
      check(`standard deviation of averages of the ${row.id} at τ = ${row.tau}`, (f) => {
        const m = row.tau as number
        const values = setOf(row)
        const averages = Array.from({ length: Math.floor(values.length / m) }, (_, j) =>
          values.slice(j * m, (j + 1) * m).reduce((sum, value) => sum + value / m, 0),
        )
        const { sd } = describeWindow(averages, m)
        f.relative('computed', sd, row.computed as number, COMPUTED)
        f.relative('published', sd, row.published as number, PRINTED)
      })
    }
    for (const row of simple) {
      check(`simple statistics of the ${row.id}`, (f) => {
        const published = namedNumbers(row.published as Record<string, number>)
        const values = setOf(row)
        const found = describeWindow(values, 1)
        f.relative('largest', found.maximum, published('max'), 5e-7)
        // The smallest value is printed to six digits.
        f.relative('smallest', found.minimum, published('min'), 5e-6)
        f.relative('mean', found.mean, published('mean'), 5e-7)
        f.relative('standard deviation', found.sd, published('sd_n_minus_1'), 5e-7)
        f.relative('median', medianOf(Float64Array.from(values)), published('median'), 5e-7)
        f.relative('slope', found.drift, published('linear_slope'), 5e-7)
        // The publication's line has x = 1, 2, ...: its value at x = 0 lies (n + 1)/2 steps before the middle.
        f.relative(
          'intercept',
          found.mean - found.drift * ((values.length + 1) / 2),
          published('intercept'),
          5e-7,
        )
      })
    }
    check('slopes of log deviation against log τ are those of the power laws', (f) => {
      const slopes = namedNumbers(rowWhere(({ id }) => id === 'slopes', 'slopes'))
      const random = seededRandom(20)
      const white = Array.from({ length: 16384 }, () => random.normal())
      let walk = 0
      const randomWalk = white.map((value) => (walk += value))
      const ramp = white.map((_, i) => i)
      const differences = neighbours(white).map(([before, value]) => value - before)
      f.near('white frequency', slopeOf(white), slopes('white frequency'), 0.05)
      f.near('random walk frequency', slopeOf(randomWalk), slopes('random walk frequency'), 0.1)
      f.near('linear frequency drift', slopeOf(ramp), slopes('linear frequency drift'), 5e-7)
      f.near('white phase', slopeOf(differences), slopes('white phase'), 0.05)
      f.near('white phase by the modified deviation', slopeOf(differences, 'modified'), -1.5, 0.1)
    })
  },
)
