import { StatisticsError } from './errors.ts'

/** Above this lag the sum is taken through the Fourier transform, whose cost does not grow with the lag. */
const DIRECT_LAGS = 96

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
  let sum = 0
  let squares = 0
  const n = deviations.length
  for (let i = 0; i < n; i++) squares += deviations[i]! * deviations[i]!
  if (kept === undefined) {
    for (let i = lag; i < n; i++) sum += deviations[i]! * deviations[i - lag]!
    return sum / squares
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

/**
 * Factor by which autocorrelation widens the variance of a mean: n divided by the effective number.
 *
 *   τ = 1 + 2 Σ (1 − k/n) ρ_k
 *
 * Two estimates are made and the larger is taken. One sums the coefficients r_k up to the last lag before
 * they first pass zero: beyond it they are noise. The other supposes the simplest process with memory,
 * ρ_k = ρᵏ, with ρ from lag 1 freed of the bias that taking off the mean (and the slope) puts into it:
 * ρ = r₁ + (1 + (2 + q) r₁)/n. In short windows the first sum alone comes out far too small. Never below 1:
 * a negative correlation is not counted as more knowledge.
 *
 * Symbols  r_k autocorrelation coefficients; n number of values; q = `fitted`, the number of terms taken off
 *          (1 the mean, 2 a straight line); τ dimensionless
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
): number {
  const n = deviations.length
  if (n < 2) {
    throw new StatisticsError('too-few-values', 'An autocorrelation needs at least two values.', { n })
  }
  let squares = 0
  for (let i = 0; i < n; i++) squares += deviations[i]! * deviations[i]!
  if (!(squares > 0)) return 1
  return Math.max(summedInflation(deviations, kept), firstOrderInflation(deviations, fitted, kept))
}

function firstOrderInflation(
  deviations: Float64Array,
  fitted: 1 | 2,
  kept: Readonly<Uint8Array> | undefined,
): number {
  const n = deviations.length
  const r = autocorrelationAt(deviations, 1, kept)
  const rho = Math.min(1 - 1 / n, r + (1 + (2 + fitted) * r) / n)
  if (!(rho > 0)) return 1
  return 1 + ((2 * rho) / (1 - rho)) * (1 - (1 - rho ** n) / (n * (1 - rho)))
}

function summedInflation(deviations: Float64Array, kept: Readonly<Uint8Array> | undefined): number {
  const n = deviations.length
  let factor = 1
  for (let lag = 1; lag < n; lag++) {
    if (lag > DIRECT_LAGS && kept === undefined) return continuedInflation(deviations, lag, factor)
    const r = autocorrelationAt(deviations, lag, kept)
    if (!(r > 0)) break
    factor += 2 * (1 - lag / n) * r
  }
  return factor
}

function continuedInflation(deviations: Float64Array, fromLag: number, soFar: number): number {
  const n = deviations.length
  const r = autocovariance(deviations)
  let factor = soFar
  for (let lag = fromLag; lag < n; lag++) {
    const coefficient = r[lag]! / r[0]!
    if (!(coefficient > 0)) break
    factor += 2 * (1 - lag / n) * coefficient
  }
  return factor
}

/** Σ d_i d_(i+k) for every lag k, through the power spectrum of the zero-padded deviations. */
function autocovariance(deviations: Float64Array): Float64Array {
  const n = deviations.length
  let size = 1
  while (size < 2 * n) size *= 2
  const re = new Float64Array(size)
  const im = new Float64Array(size)
  re.set(deviations)
  fourier(re, im)
  for (let i = 0; i < size; i++) {
    re[i] = re[i]! * re[i]! + im[i]! * im[i]!
    im[i] = 0
  }
  fourier(re, im)
  const result = new Float64Array(n)
  for (let i = 0; i < n; i++) result[i] = re[i]! / size
  return result
}

/** Radix-2 transform in place; the length is a power of two. */
function fourier(re: Float64Array, im: Float64Array): void {
  const size = re.length
  for (let i = 1, j = 0; i < size; i++) {
    let bit = size >> 1
    for (; (j & bit) !== 0; bit >>= 1) j ^= bit
    j ^= bit
    if (i < j) {
      const r = re[i]!
      re[i] = re[j]!
      re[j] = r
      const m = im[i]!
      im[i] = im[j]!
      im[j] = m
    }
  }
  for (let length = 2; length <= size; length *= 2) {
    const half = length / 2
    const cos = new Float64Array(half)
    const sin = new Float64Array(half)
    for (let k = 0; k < half; k++) {
      cos[k] = Math.cos((2 * Math.PI * k) / length)
      sin[k] = -Math.sin((2 * Math.PI * k) / length)
    }
    for (let start = 0; start < size; start += length) {
      for (let k = 0; k < half; k++) {
        const a = start + k
        const b = a + half
        const r = re[b]! * cos[k]! - im[b]! * sin[k]!
        const m = re[b]! * sin[k]! + im[b]! * cos[k]!
        re[b] = re[a]! - r
        im[b] = im[a]! - m
        re[a] = re[a]! + r
        im[a] = im[a]! + m
      }
    }
  }
}
