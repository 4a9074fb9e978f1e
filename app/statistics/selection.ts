import { said } from '../messages/said.ts'
import { StatisticsError } from './errors.ts'

/**
 * Puts the k-th smallest value at place k, smaller ones before it, larger ones after; the rest stays unsorted.
 *
 * Floyd and Rivest's selection: a small sample brackets the place, so that about n + min(k, n − k)
 * comparisons are enough where sorting takes n log n.
 *
 * Symbols  k place, from 0; `from` and `to` bound the part of the array that is looked at (both inside)
 * Source   R. W. Floyd, R. L. Rivest, Communications of the ACM 18 (1975) 173, algorithm 489 (from memory)
 * Valid    from ≤ k ≤ to, no NaN
 * Throws   StatisticsError 'out-of-range'
 */
export function selectInPlace(values: Float64Array, k: number, from = 0, to = values.length - 1): number {
  if (!(Number.isInteger(k) && k >= from && k <= to && from >= 0 && to < values.length)) {
    throw new StatisticsError('out-of-range', said('place-outside', { k, from, to }), { k, from, to })
  }
  let left = from
  let right = to
  while (right > left) {
    if (right - left > 600) {
      const n = right - left + 1
      const i = k - left + 1
      const z = Math.log(n)
      const s = 0.5 * Math.exp((2 * z) / 3)
      const sd = 0.5 * Math.sqrt((z * s * (n - s)) / n) * (i < n / 2 ? -1 : 1)
      selectInPlace(
        values,
        k,
        Math.max(left, Math.floor(k - (i * s) / n + sd)),
        Math.min(right, Math.floor(k + ((n - i) * s) / n + sd)),
      )
    }
    const pivot = values[k]!
    let i = left
    let j = right
    values[k] = values[left]!
    values[left] = pivot
    if (values[right]! > pivot) swap(values, left, right)
    while (i < j) {
      swap(values, i, j)
      i++
      j--
      while (values[i]! < pivot) i++
      while (values[j]! > pivot) j--
    }
    if (values[left] === pivot) swap(values, left, j)
    else {
      j++
      swap(values, j, right)
    }
    if (j <= k) left = j + 1
    if (k <= j) right = j - 1
  }
  return values[k]!
}

function swap(values: Float64Array, i: number, j: number): void {
  const held = values[i]!
  values[i] = values[j]!
  values[j] = held
}

/**
 * Median; the array is reordered.
 *
 * Symbols  result: middle value, or the mean of the two middle ones
 * Source   ISO 3534-1, median (from memory)
 * Valid    n ≥ 1, no NaN
 * Throws   StatisticsError 'too-few-values'
 */
export function medianOf(values: Float64Array): number {
  const n = values.length
  if (n === 0) throw new StatisticsError('too-few-values', said('median-of-nothing', {}), { n })
  const middle = n >> 1
  const upper = selectInPlace(values, middle)
  if (n % 2 === 1) return upper
  let lower = Number.NEGATIVE_INFINITY
  for (let i = 0; i < middle; i++) if (values[i]! > lower) lower = values[i]!
  return lower + 0.5 * (upper - lower)
}
