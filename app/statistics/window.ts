import { first } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { autocorrelationAt, varianceInflation } from './autocorrelation.ts'
import { add, type DoubleDouble, divide, fromDecimalText } from './compensated.ts'
import { StatisticsError } from './errors.ts'

export interface WindowOptions {
  /** 1 (or true) where a value is to be left out: spikes, readings over range. Nothing is removed from the record. */
  readonly marks?: ArrayLike<number | boolean>
  /** Take each value as the decimal number it prints as, not as the nearest double: for values read from text. */
  readonly decimal?: boolean
}

/** What a window of readings says about the quantity; SI seconds, and the unit of the values. */
export interface WindowStatistics {
  /** Values that count. */
  readonly n: number
  /** Values that were left out: marked, or not finite. */
  readonly leftOut: number
  readonly mean: number
  /** Experimental standard deviation, n − 1; NaN for a single value. */
  readonly sd: number
  /** Autocorrelation coefficient at lag 1; NaN where the values do not vary. */
  readonly lag1: number
  /** Number of independent values that would know the mean as well. */
  readonly nEffective: number
  /** sd/√nEffective. */
  readonly standardError: number
  /** Slope of the least-squares line, per second. */
  readonly drift: number
  /** Standard uncertainty of the slope with the autocorrelation of the residuals, per second; NaN below 3 values. */
  readonly driftUncertainty: number
  /** Degrees of freedom of driftUncertainty, from the effective number of the residuals. */
  readonly driftDegreesOfFreedom: number
  /** Standard deviation of the residuals from the line, n − 2; NaN below 3 values. */
  readonly sdAboutLine: number
  /** Standard deviation of the mean of the line at its middle: of the mean, once the drift is known and taken off. */
  readonly standardErrorAboutLine: number
  readonly minimum: number
  readonly maximum: number
  /** Largest minus smallest value. */
  readonly span: number
  /** From the first to the last value that counts, s. */
  readonly durationS: number
}

/** What describeDrift tells of a window. */
export type WindowDrift = Pick<
  WindowStatistics,
  'n' | 'mean' | 'sd' | 'drift' | 'driftUncertainty' | 'driftDegreesOfFreedom' | 'durationS'
>

interface Kept {
  /** Deviations from the mean in order of place, 0 where left out. */
  readonly deviations: Float64Array
  readonly kept: Uint8Array
  readonly n: number
  readonly mean: number
  readonly minimum: number
  readonly maximum: number
}

/**
 * Statistics of a window of evenly spaced values.
 *
 *   s² = Σ(x − x̄)²/(n − 1);  n_eff = n/τ;  u(x̄) = s/√n_eff
 *   b = Σ(t − t̄)(x − x̄)/Σ(t − t̄)²;  u²(b) = Σe²/(n/τ_e − 2)/Σ(t − t̄)²
 *
 * τ and τ_e are the widening of variance by the autocorrelation of the values and of the residuals e
 * from the line. The mean is carried in double-double and each deviation from it is exact to a double,
 * so a large offset costs no digits.
 *
 * Symbols  x value, t time in s, s standard deviation, b drift per second, e residual
 * Source   JCGM 100:2008, 4.2.2 (s); B. D. Santer et al., J. Geophys. Res. 105 (2000) 7337 (residual
 *          variance and degrees of freedom from the effective number; from memory); varianceInflation for τ
 * Valid    n ≥ 1 value that counts, intervalS > 0
 * Throws   StatisticsError 'too-few-values' | 'out-of-range' | 'length-mismatch' | 'not-finite' (sum too large)
 */
export function describeWindow(
  values: ArrayLike<number>,
  intervalS: number,
  options: WindowOptions = {},
): WindowStatistics {
  if (!(intervalS > 0 && Number.isFinite(intervalS))) {
    throw new StatisticsError('out-of-range', said('interval-not-positive', { intervalS }), {
      intervalS,
    })
  }
  const kept = keep(values, options)
  return describe(kept, values.length - kept.n, (i) => i * intervalS)
}

/**
 * Statistics of a window of values at given times, evenly spaced or not.
 *
 * The drift uses the times as they are; the autocorrelation is taken from reading to reading, which
 * supposes that the spacing is roughly even.
 *
 * Symbols  as describeWindow; timesS in s from any origin, ascending
 * Source   as describeWindow
 * Valid    n ≥ 1, as many times as values, no time before the one preceding it
 * Throws   StatisticsError 'too-few-values' | 'length-mismatch' | 'not-finite' | 'out-of-range'
 */
export function describeSamples(
  timesS: ArrayLike<number>,
  values: ArrayLike<number>,
  options: WindowOptions = {},
): WindowStatistics {
  refuseTimes(timesS, values)
  const kept = keep(values, options)
  const origin = first(timesS)
  return describe(kept, values.length - kept.n, (i) => timesS[i]! - origin)
}

function refuseTimes(timesS: ArrayLike<number>, values: ArrayLike<number>): void {
  if (timesS.length !== values.length) {
    throw new StatisticsError(
      'length-mismatch',
      said('times-not-one-each', { times: timesS.length, values: values.length }),
      { times: timesS.length, values: values.length },
    )
  }
  let before = Number.NEGATIVE_INFINITY
  for (let i = 0; i < timesS.length; i++) {
    const time = timesS[i]!
    if (!Number.isFinite(time)) {
      throw new StatisticsError('not-finite', said('time-not-finite-number', { i: i + 1 }), { place: i })
    }
    if (time < before) {
      throw new StatisticsError('out-of-range', said('time-runs-back', { i: i + 1 }), {
        place: i,
      })
    }
    before = time
  }
}

/**
 * The part of describeSamples that settling is judged by: no autocorrelation of the values themselves, which costs most
 * where a quantity still moves. What is there is the same to the last digit.
 *
 * Symbols  as describeSamples
 * Source   as describeWindow
 * Valid    as describeSamples
 * Throws   StatisticsError as describeSamples
 */
export function describeDrift(timesS: ArrayLike<number>, values: ArrayLike<number>): WindowDrift {
  refuseTimes(timesS, values)
  const kept = keep(values, {})
  const { deviations, n, mean, minimum, maximum } = kept
  const leftOut = values.length - n
  const origin = first(timesS)
  return {
    n,
    mean,
    sd: sdOf(sumOfSquares(deviations), n, maximum > minimum),
    ...driftOf(deviations, kept.kept, n, leftOut > 0 ? kept.kept : undefined, (i) => timesS[i]! - origin),
  }
}

function sdOf(squares: number, n: number, varies: boolean): number {
  if (n < 2) return Number.NaN
  return varies ? Math.sqrt(squares / (n - 1)) : 0
}

function keep(values: ArrayLike<number>, options: WindowOptions): Kept {
  const { marks } = options
  if (marks !== undefined && marks.length !== values.length) {
    throw new StatisticsError(
      'length-mismatch',
      said('marks-not-one-each', { marks: marks.length, values: values.length }),
      { marks: marks.length, values: values.length },
    )
  }
  const length = values.length
  const kept = new Uint8Array(length)
  const low = options.decimal === true ? new Float64Array(length) : undefined
  const high = new Float64Array(values)
  let n = 0
  let sum: DoubleDouble = { hi: 0, lo: 0 }
  // The sum of plain doubles in the two parts of a double-double: windows are summed at every look.
  let hi = 0
  let lo = 0
  let minimum = Number.POSITIVE_INFINITY
  let maximum = Number.NEGATIVE_INFINITY
  for (let i = 0; i < length; i++) {
    const value = high[i]!
    if (!Number.isFinite(value) || marks?.[i]) continue
    kept[i] = 1
    n++
    if (value < minimum) minimum = value
    if (value > maximum) maximum = value
    if (low !== undefined) {
      const term = fromDecimalText(value)
      high[i] = term.hi
      low[i] = term.lo
      sum = add(sum, term)
      continue
    }
    const whole = hi + value
    const back = whole - hi
    const rest = hi - (whole - back) + (value - back) + lo
    hi = whole + rest
    lo = rest - (hi - whole)
  }
  if (low === undefined) sum = { hi, lo }
  if (n === 0) {
    throw new StatisticsError(
      'too-few-values',
      length === 0 ? said('window-empty', {}) : said('window-all-marked', {}),
      { n: 0, leftOut: length },
    )
  }
  const mean = divide(sum, { hi: n, lo: 0 })
  if (!Number.isFinite(mean.hi)) {
    throw new StatisticsError('not-finite', said('values-too-large', {}))
  }
  const deviations = new Float64Array(length)
  for (let i = 0; i < length; i++) {
    if (kept[i] === 1) deviations[i] = high[i]! - mean.hi + ((low?.[i] ?? 0) - mean.lo)
  }
  return { deviations, kept, n, mean: mean.hi, minimum, maximum }
}

function describe(window: Kept, leftOut: number, timeOf: (place: number) => number): WindowStatistics {
  const { deviations, kept, n, mean, minimum, maximum } = window
  const holes = leftOut > 0 ? kept : undefined
  const squares = sumOfSquares(deviations)
  const varies = maximum > minimum
  const sd = sdOf(squares, n, varies)
  const nEffective = n < 2 || !varies ? n : n / varianceInflation(deviations, 1, holes)
  return {
    n,
    leftOut,
    mean,
    sd,
    lag1: n < 2 || !varies ? Number.NaN : autocorrelationAt(deviations, 1, holes),
    nEffective,
    standardError: sd / Math.sqrt(nEffective),
    ...driftOf(deviations, kept, n, holes, timeOf),
    minimum,
    maximum,
    span: maximum - minimum,
  }
}

type DriftStatistics = Pick<
  WindowStatistics,
  | 'drift'
  | 'driftUncertainty'
  | 'driftDegreesOfFreedom'
  | 'sdAboutLine'
  | 'standardErrorAboutLine'
  | 'durationS'
>

/** Compensated, so that a thousand equal squares do not drift by their rounding. */
function sumOfSquares(values: Float64Array): number {
  let sum = 0
  let lost = 0
  for (const value of values) {
    const term = value * value - lost
    const next = sum + term
    lost = next - sum - term
    sum = next
  }
  return sum
}

function driftOf(
  deviations: Float64Array,
  kept: Uint8Array,
  n: number,
  holes: Uint8Array | undefined,
  timeOf: (place: number) => number,
): DriftStatistics {
  const first = kept.indexOf(1)
  const durationS = timeOf(kept.lastIndexOf(1)) - timeOf(first)
  const none = {
    drift: Number.NaN,
    driftUncertainty: Number.NaN,
    driftDegreesOfFreedom: 0,
    sdAboutLine: Number.NaN,
    standardErrorAboutLine: Number.NaN,
    durationS,
  }
  if (n < 2 || durationS === 0) return none
  let meanTime = 0
  for (let i = first; i < kept.length; i++) if (kept[i] === 1) meanTime += timeOf(i) / n
  let product = 0
  let timeSquares = 0
  let offset = 0
  for (let i = first; i < kept.length; i++) {
    if (kept[i] === 0) continue
    const t = timeOf(i) - meanTime
    const deviation = deviations[i]!
    product += t * deviation
    timeSquares += t * t
    offset += deviation
  }
  const drift = product / timeSquares
  if (n < 3) return { ...none, drift }
  const residuals = new Float64Array(kept.length)
  for (let i = first; i < kept.length; i++) {
    if (kept[i] === 0) continue
    residuals[i] = deviations[i]! - offset / n - drift * (timeOf(i) - meanTime)
  }
  const squares = sumOfSquares(residuals)
  const independent = n / varianceInflation(residuals, 2, holes)
  const driftDegreesOfFreedom = Math.max(1, independent - 2)
  const variance = squares / driftDegreesOfFreedom
  return {
    drift,
    driftUncertainty: Math.sqrt(variance / timeSquares),
    driftDegreesOfFreedom,
    sdAboutLine: Math.sqrt(squares / (n - 2)),
    standardErrorAboutLine: Math.sqrt(variance / n),
    durationS,
  }
}
