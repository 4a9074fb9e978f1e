/**
 * Arithmetic mean.
 *
 *   q̄ = Σ q / n
 *
 * Symbols  q values, n their number; all in the unit of q
 * Source   JCGM 100:2008, 4.2.1, equation (3)
 * Valid    n ≥ 1; NaN of no values
 * Throws   nothing
 */
export const mean = (values: readonly number[]): number =>
  values.reduce((sum, q) => sum + q, 0) / values.length

/**
 * Median: of an even number of values the mean of the two in the middle.
 *
 * Symbols  values in any order, all in one unit
 * Source   common practice, no source
 * Valid    any number; null of none
 * Throws   nothing
 */
export function median(values: readonly number[]): number | null {
  if (values.length === 0) return null
  const sorted = values.toSorted((a, b) => a - b)
  const half = sorted.length >> 1
  return sorted.length % 2 === 1 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2
}
