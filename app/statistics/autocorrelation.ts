import { at } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { StatisticsError } from './errors.ts'
import { plusProducts } from './vectors.ts'

/** Up to here every lag is taken; beyond, where a coefficient above zero changes slowly, lags at growing distances. */
const EVERY_LAG = 32
/** The distance is this part of the lag. */
const STRIDE_PART = 16
/** Lags taken in one pass over the values. */
const TOGETHER = 4
const together = new Float64Array(TOGETHER)

/**
 * Autocorrelation coefficient of deviations from a mean at one lag.
 *
 *   r_k = Σ d_i d_(i+k) / Σ d_i²
 *
 * Symbols  d deviation from the mean; k lag in samples; `kept` tells which samples count (all by default)
 * Source   NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.12 (section number from memory)
 * Valid    0 ≤ k < n, not all deviations zero
 * Throws   nothing (0/0 for constant data gives NaN)
 */
export function autocorrelationAt(
  deviations: Float64Array,
  lag: number,
  kept?: Readonly<Uint8Array>,
): number {
  if (kept !== undefined) return coefficientAt(deviations, lag, kept, squaresOf(deviations))
  return compensatedProducts(deviations, lag) / compensatedProducts(deviations, 0)
}

/** Σ d_i d_(i+lag), each addition's rounding carried along: a reported coefficient keeps the digits that its values have. */
function compensatedProducts(d: Float64Array, lag: number): number {
  let sum = 0
  let carried = 0
  for (let i = lag; i < d.length; i++) {
    const term = d[i]! * d[i - lag]!
    const next = sum + term
    carried += Math.abs(sum) >= Math.abs(term) ? sum - next + term : term - next + sum
    sum = next
  }
  return sum + carried
}

function squaresOf(deviations: Float64Array): number {
  return plusProducts(0, deviations, deviations)
}

function coefficientAt(
  deviations: Float64Array,
  lag: number,
  kept: Readonly<Uint8Array> | undefined,
  squares: number,
): number {
  let sum = 0
  const n = deviations.length
  if (kept === undefined) {
    // Four sums side by side: one alone waits at each step for the step before.
    let second = 0
    let third = 0
    let fourth = 0
    let i = lag
    for (; i + 3 < n; i += 4) {
      sum += deviations[i]! * deviations[i - lag]!
      second += deviations[i + 1]! * deviations[i + 1 - lag]!
      third += deviations[i + 2]! * deviations[i + 2 - lag]!
      fourth += deviations[i + 3]! * deviations[i + 3 - lag]!
    }
    sum = plusProducts(sum, deviations.subarray(i), deviations.subarray(i - lag))
    return (sum + second + third + fourth) / squares
  }
  let pairs = 0
  let used = 0
  for (let i = 0; i < n; i++) {
    used += kept[i]!
    if (i < lag || kept[i] === 0 || kept[i - lag] === 0) continue
    sum += deviations[i]! * deviations[i - lag]!
    pairs++
  }
  return pairs === 0 ? 0 : ((sum / pairs) * (n - lag) * used) / (n * squares)
}

const stepAfter = (lag: number) => (lag < EVERY_LAG ? 1 : Math.floor(lag / STRIDE_PART))

/**
 * The lag that varianceInflation takes after a lag.
 *
 * Symbols  lag in samples
 * Source   own choice, see varianceInflation
 * Valid    lag ≥ 1
 * Throws   nothing
 */
export function lagAfter(lag: number): number {
  return lag + stepAfter(lag)
}

/** Sums of products at `lag` and the three lags looked at after it, into `together`. Returns the largest of them. */
function sumTogether(d: Float64Array, lag: number): number {
  const lag2 = lag + stepAfter(lag)
  const lag3 = lag2 + stepAfter(lag2)
  const lag4 = lag3 + stepAfter(lag3)
  const n = d.length
  if (lag4 >= n) return 0
  let first = plusProducts(0, d.subarray(lag, lag4), d)
  let second = plusProducts(0, d.subarray(lag2, lag4), d)
  let third = plusProducts(0, d.subarray(lag3, lag4), d)
  let fourth = 0
  for (let i = lag4; i < n; i++) {
    const value = d[i]!
    first += value * d[i - lag]!
    second += value * d[i - lag2]!
    third += value * d[i - lag3]!
    fourth += value * d[i - lag4]!
  }
  together[0] = first
  together[1] = second
  together[2] = third
  together[3] = fourth
  return lag4
}

/**
 * Factor by which autocorrelation widens the variance of a mean: n divided by the effective number.
 *
 *   τ = 1 + 2 Σ (1 − k/n) ρ_k
 *
 * Two estimates are made and the larger is taken. One sums the coefficients r_k up to the last lag before
 * they first pass zero: beyond it they are noise. The other supposes the simplest process with memory,
 * ρ_k = ρᵏ, with ρ from lag 1 freed of the bias that taking off the mean (and the slope) puts into it:
 * ρ = r₁ + (1 + (2 + q) r₁)/n. In short windows the first sum alone comes out far too small. Never below 1:
 * a negative correlation is not counted as more knowledge. The sum only grows with each lag, so that a caller who
 * needs to know no more than that τ is above `enough` is spared the lags after it passed that.
 *
 * Symbols  r_k autocorrelation coefficients; n number of values; q = `fitted`, the number of terms taken off
 *          (1 the mean, 2 a straight line); τ dimensionless, above `enough` only a lower bound
 * Source   N. F. Zhang, Metrologia 43 (2006) S276 (the sum); A. Zięba, Metrol. Meas. Syst. 17 (2010) 3
 *          (limiting lag at the first transit through zero); M. G. Kendall, Biometrika 41 (1954) 403 (bias of
 *          r₁, q = 1); all from memory. q = 2 and the choice of the larger: own simulation (tests)
 * Valid    n ≥ 2; constant data give 1
 * Throws   StatisticsError 'too-few-values'
 */
export function varianceInflation(
  deviations: Float64Array,
  fitted: 1 | 2 = 1,
  kept?: Readonly<Uint8Array>,
  enough = Number.POSITIVE_INFINITY,
): number {
  const n = deviations.length
  if (n < 2) {
    throw new StatisticsError('too-few-values', said('autocorrelation-of-one', {}), { n })
  }
  const squares = squaresOf(deviations)
  if (!(squares > 0)) return 1
  const lag1 = coefficientAt(deviations, 1, kept, squares)
  const firstOrder = firstOrderInflation(n, lag1, fitted)
  if (firstOrder > enough) return firstOrder
  return Math.max(summedInflation(deviations, kept, squares, enough), firstOrder)
}

/**
 * The second estimate of varianceInflation: the widening by a process whose correlation falls by the same factor from
 * lag to lag.
 *
 * Symbols  n number of values, r coefficient at lag 1, `fitted` as varianceInflation
 * Source   as varianceInflation
 * Valid    n ≥ 2
 * Throws   nothing
 */
export function firstOrderInflation(n: number, r: number, fitted: 1 | 2): number {
  const rho = Math.min(1 - 1 / n, r + (1 + (2 + fitted) * r) / n)
  if (!(rho > 0)) return 1
  return 1 + ((2 * rho) / (1 - rho)) * (1 - (1 - rho ** n) / (n * (1 - rho)))
}

/**
 * What one coefficient adds to the first estimate of varianceInflation: it stands for the lags since the one taken before
 * it, by the trapezoid rule where they lie apart.
 *
 * Symbols  n number of values, r coefficient at `lag`, `last` the one taken before it, `step` lags ago (1 at lag 1)
 * Source   as varianceInflation
 * Valid    n > lag ≥ 1
 * Throws   nothing
 */
export function inflationAt(n: number, lag: number, step: number, r: number, last: number): number {
  const middle = lag - (step - 1) / 2
  const between = step === 1 ? r : ((step - 1) * last + (step + 1) * r) / (2 * step)
  return 2 * step * (1 - middle / n) * between
}

function summedInflation(
  deviations: Float64Array,
  kept: Readonly<Uint8Array> | undefined,
  squares: number,
  enough: number,
): number {
  const n = deviations.length
  let factor = 1
  let last = 1
  let summedTo = 0
  let place = 0
  for (let lag = 1, step = 1; lag < n && factor <= enough; lag += step) {
    if (kept === undefined && lag > summedTo) {
      summedTo = sumTogether(deviations, lag)
      place = 0
    }
    const r =
      lag <= summedTo ? at(together, place++) / squares : coefficientAt(deviations, lag, kept, squares)
    if (!(r > 0)) break
    factor += inflationAt(n, lag, step, r, last)
    last = r
    step = stepAfter(lag)
  }
  return factor
}
