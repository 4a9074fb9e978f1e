import { zip } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { StatisticsError } from './errors.ts'
import { medianOf } from './selection.ts'

/** Turns the median absolute deviation of normal data into its standard deviation: 1/Φ⁻¹(3/4). */
export const MAD_TO_SD = 1.4826022185056018

export interface SpikeOptions {
  /** How many robust standard deviations from the median a value may lie; 5 unless told. */
  readonly limit?: number
  /** Take the median over this many neighbours on each side, so that a drift is not marked; the whole window unless told. */
  readonly neighbours?: number
  /** Resolution of the values, in their unit: the robust spread is never taken smaller than this. */
  readonly resolution?: number
}

/**
 * Marks of suspected spikes: 1 where a value lies too far from the median, else 0. Nothing is removed.
 *
 *   mark if |x − median| > limit × max(1.4826 MAD, resolution)
 *
 * Where more than half of the values are equal MAD is 0; then the mean absolute deviation, times
 * √(π/2), stands in, so that a record with few steps of resolution is not marked wholesale.
 * A value that is not finite is always marked.
 *
 * Symbols  x value; MAD median of |x − median|; limit in robust standard deviations
 * Source   B. Iglewicz, D. C. Hoaglin, How to Detect and Handle Outliers (1993) (median and MAD, from
 *          memory); the limit of 5 is common practice, no source
 * Valid    any n; below 4 finite values nothing finite is marked
 * Throws   StatisticsError 'out-of-range'
 */
export function markSpikes(values: ArrayLike<number>, options: SpikeOptions = {}): Uint8Array {
  const limit = options.limit ?? 5
  if (!(limit > 0)) throw new StatisticsError('out-of-range', said('spike-limit-not-positive', {}), { limit })
  const marks = new Uint8Array(values.length)
  const finite: number[] = []
  for (let i = 0; i < values.length; i++) {
    if (Number.isFinite(values[i])) finite.push(i)
    else marks[i] = 1
  }
  if (finite.length < 4) return marks
  const distances = distancesFromMedian(values, finite, options.neighbours)
  const spread = robustSpread(distances, options.resolution ?? 0)
  if (!(spread > 0)) return marks
  for (const [i, distance] of zip(finite, distances)) if (distance > limit * spread) marks[i] = 1
  return marks
}

function distancesFromMedian(
  values: ArrayLike<number>,
  finite: readonly number[],
  neighbours: number | undefined,
): Float64Array {
  const present = Float64Array.from(finite, (i) => values[i]!)
  if (neighbours === undefined) {
    const centre = medianOf(present.slice())
    return present.map((value) => Math.abs(value - centre))
  }
  return present.map((value, k) => Math.abs(value - localCentre(present, k, neighbours)))
}

/** Median of the neighbours; near an end that of the last full stretch, carried on along its own robust slope. */
function localCentre(values: Float64Array, k: number, neighbours: number): number {
  const last = values.length - 1
  const middle = Math.max(Math.min(k, last - neighbours), Math.min(neighbours, last >> 1))
  const stretch = values.slice(Math.max(0, middle - neighbours), middle + neighbours + 1)
  const centre = medianOf(stretch.slice())
  if (k === middle || stretch.length <= neighbours) return centre
  const later = stretch.subarray(neighbours)
  const rises = later.map((value, i) => (value - stretch[i]!) / neighbours)
  return centre + medianOf(rises) * (k - middle)
}

function robustSpread(distances: Float64Array, resolution: number): number {
  const mad = medianOf(distances.slice())
  if (mad > 0) return Math.max(MAD_TO_SD * mad, resolution)
  let sum = 0
  for (const d of distances) sum += d
  return Math.max(Math.sqrt(Math.PI / 2) * (sum / distances.length), resolution)
}
