import { last } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { StatisticsError } from './errors.ts'

/** Which deviation of averages: each takes the values as successive averages over the basic interval. */
export type AllanKind =
  | 'overlapping'
  | 'plain'
  | 'modified'
  | 'time'
  | 'hadamard'
  | 'overlapping-hadamard'
  | 'total'

export interface AllanPoint {
  /** Averaging time, s. */
  readonly tau: number
  /** Values averaged. */
  readonly m: number
  /** In the unit of the values (times seconds for 'time'). */
  readonly deviation: number
  /** Differences that were averaged. */
  readonly terms: number
}

export interface AllanOptions {
  readonly kind?: AllanKind
  /** Numbers of values to average; octaves (1, 2, 4 ...) as far as the record reaches unless told. */
  readonly averages?: readonly number[]
  /** 1 (or true) where a value is missing or left out: differences that touch it are not taken. */
  readonly marks?: ArrayLike<number | boolean>
}

/** Values that one difference spans, in units of m. */
const REACH: Readonly<Record<AllanKind, number>> = {
  overlapping: 2,
  plain: 2,
  modified: 3,
  time: 3,
  hadamard: 3,
  'overlapping-hadamard': 3,
  total: 2,
}

/**
 * Allan deviation, and its relatives, at octave averaging times.
 *
 *   σ²(mτ₀) = 1/(2 m² (N − 2m + 1)) Σ_j [Σ_i (y_(i+m) − y_i)]²,  i = j .. j + m − 1        (overlapping)
 *
 * In terms of the running sum x of the values the inner sum is x_(j+2m) − 2 x_(j+m) + x_j. 'plain' takes
 * j in steps of m; 'modified' averages m neighbouring differences before it squares, 'time' is that times
 * mτ₀/√3; the Hadamard deviations use third differences; 'total' extends the record by reflection.
 *
 * Symbols  y values, evenly spaced; τ₀ their interval in s; N their number; m averaged values; x_k = Σ y_i, i < k
 * Source   W. J. Riley, NIST Special Publication 1065 (2008), section 5.2 (numbers of equations (9) overlapping,
 *          (13) modified, (19) total from memory)
 * Valid    averaging of m values: N ≥ 2m (overlapping, plain, total), N ≥ 3m (the others); m with fewer are left out
 * Throws   StatisticsError 'out-of-range' (interval, m) | 'length-mismatch' | 'not-finite'
 */
export function allanDeviations(
  values: ArrayLike<number>,
  intervalS: number,
  options: AllanOptions = {},
): AllanPoint[] {
  const { kind = 'overlapping', marks } = options
  const n = values.length
  if (!(intervalS > 0 && Number.isFinite(intervalS))) {
    throw new StatisticsError('out-of-range', said('interval-not-positive', { intervalS }), {
      intervalS,
    })
  }
  if (marks !== undefined && marks.length !== n) {
    throw new StatisticsError(
      'length-mismatch',
      said('marks-of-another-number', { marks: marks.length, n }),
      {
        marks: marks.length,
        values: n,
      },
    )
  }
  const record = recordOf(values, marks)
  const result: AllanPoint[] = []
  for (const m of options.averages ?? octaves(n, REACH[kind])) {
    if (!(Number.isInteger(m) && m >= 1)) {
      throw new StatisticsError('out-of-range', said('average-impossible', { m }), {
        m,
      })
    }
    if (n < REACH[kind] * m) continue
    const { sum, terms } = kind === 'total' ? totalTerms(record, m) : differenceTerms(record, m, kind)
    if (terms === 0) continue
    const tau = m * intervalS
    const unit = kind === 'time' ? tau / Math.sqrt(3) : 1
    result.push({ tau, m, deviation: (unit * Math.sqrt(sum / terms)) / m, terms })
  }
  return result
}

function octaves(n: number, reach: number): number[] {
  const averages: number[] = []
  for (let m = 1; reach * m <= n; m *= 2) averages.push(m)
  return averages
}

interface AllanRecord {
  readonly n: number
  /** Running sum of the values less their mean, n + 1 entries. */
  readonly running: Float64Array
  /** Running number of missing values, where any are. */
  readonly missing: Int32Array | undefined
}

function recordOf(values: ArrayLike<number>, marks: ArrayLike<number | boolean> | undefined): AllanRecord {
  const n = values.length
  const running = new Float64Array(n + 1)
  const missing = marks === undefined ? undefined : new Int32Array(n + 1)
  let mean = 0
  let counted = 0
  for (let i = 0; i < n; i++) {
    if (marks?.[i]) continue
    const value = values[i]!
    if (!Number.isFinite(value)) {
      throw new StatisticsError('not-finite', said('value-not-finite-number', { i: i + 1 }), { place: i })
    }
    counted++
    mean += (value - mean) / counted
  }
  let sum = 0
  let gone = 0
  for (let i = 0; i < n; i++) {
    if (marks?.[i]) gone++
    else sum += values[i]! - mean
    running[i + 1] = sum
    if (missing !== undefined) missing[i + 1] = gone
  }
  return { n, running, missing }
}

type Sum = { sum: number; terms: number }

/** Squared differences of the running sum, halved (second differences) or divided by six (third ones). */
function differenceTerms({ n, running, missing }: AllanRecord, m: number, kind: AllanKind): Sum {
  const third = kind === 'hadamard' || kind === 'overlapping-hadamard'
  const reach = third ? 3 * m : 2 * m
  const averaged = kind === 'modified' || kind === 'time'
  const step = kind === 'plain' || kind === 'hadamard' ? m : 1
  const whole = (j: number, length: number) => missing === undefined || missing[j + length] === missing[j]
  const second = (j: number) => running[j + 2 * m]! - 2 * running[j + m]! + running[j]!
  const differenceAt = third ? (j: number) => second(j + m) - second(j) : second
  let sum = 0
  let terms = 0
  if (!averaged) {
    for (let j = 0; j + reach <= n; j += step) {
      if (!whole(j, reach)) continue
      const difference = differenceAt(j)
      sum += difference * difference
      terms++
    }
    return { sum: sum / (third ? 6 : 2), terms }
  }
  let moving = 0
  for (let j = 0; j < m; j++) moving += second(j)
  for (let j = 0; j + 3 * m - 1 <= n; j++) {
    if (whole(j, 3 * m - 1)) {
      sum += (moving / m) ** 2
      terms++
    }
    if (j + 3 * m <= n) moving += second(j + m) - second(j)
  }
  return { sum: sum / 2, terms }
}

/** The running sum mirrored about both ends, so that each of its inner points is the middle of a difference. */
function totalTerms({ n, running, missing }: AllanRecord, m: number): Sum {
  if (missing !== undefined && last(missing) > 0) return { sum: 0, terms: 0 }
  const to = (i: number) => running[i]!
  const extended = (i: number) => (i < 0 ? 2 * to(0) - to(-i) : i > n ? 2 * to(n) - to(2 * n - i) : to(i))
  let sum = 0
  for (let i = 1; i < n; i++) sum += (extended(i - m) - 2 * to(i) + extended(i + m)) ** 2
  return { sum: sum / 2, terms: n - 1 }
}
