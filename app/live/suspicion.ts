import { at, first, last } from '../base/lists.ts'
import { MAD_TO_SD } from '../statistics/spikes.ts'
import type { Track } from './track.ts'

const NEIGHBOURS = 11
/** Robust standard deviations from the trend at which a value is suspected; common practice, no source. */
const LIMIT = 8
/** Spread below which nothing is suspected, K: what a good stirred bath does by itself. */
export const FLOOR_K = 3e-4
/** A step looks like a spike at first; when this many in a row are off, it is a step. */
const STEP_AFTER = 2

/**
 * Suspects single readings that stand far from the trend of the ones before. The trend is the median of pairwise
 * slopes, so a bath on its way is no reason, and neither is one earlier spike.
 */
export class SpikeWatch {
  #inARow = 0

  /** Whether a value at a time is suspect, judged by what came before it. */
  suspects(track: Track, timeS: number, celsius: number): boolean {
    if (!Number.isFinite(celsius)) return false
    const { times, values } = track.lastCounting(NEIGHBOURS)
    if (values.length < NEIGHBOURS || timeS - last(times) > 10 * (last(times) - first(times))) return false
    const slope = medianSlope(times, values)
    const centre = median(values.map((v, i) => v - slope * at(times, i)))
    const residuals = values.map((v, i) => Math.abs(v - slope * at(times, i) - centre))
    const spread = Math.max(MAD_TO_SD * median(residuals), FLOOR_K)
    // What the trend itself may be wrong by grows with how fast the values move.
    const bend = Math.abs(slope) * (timeS - first(times)) * 0.5
    const off = Math.abs(celsius - slope * timeS - centre)
    if (off <= LIMIT * spread + bend) {
      this.#inARow = 0
      return false
    }
    this.#inARow += 1
    if (this.#inARow <= STEP_AFTER) return true
    return false
  }
}

function median(values: readonly number[]): number {
  const sorted = Float64Array.from(values).sort()
  const middle = sorted.length >> 1
  return sorted.length % 2 === 1 ? at(sorted, middle) : (at(sorted, middle - 1) + at(sorted, middle)) / 2
}

function medianSlope(times: readonly number[], values: readonly number[]): number {
  const slopes: number[] = []
  for (let i = 0; i < times.length; i++) {
    for (let j = i + 1; j < times.length; j++) {
      const apart = times[j]! - times[i]!
      if (apart > 0) slopes.push((values[j]! - values[i]!) / apart)
    }
  }
  return slopes.length === 0 ? 0 : median(slopes)
}

/** Identical replies in a row at which a finely resolved value counts as stuck; common practice, no source. */
const STUCK_AFTER = 8
const FINE_DIGITS = 7

/** Notices an instrument that repeats itself: a finely resolved value does not come back digit for digit. */
export class StuckWatch {
  #last = ''
  #times = 0

  isStuck(value: string | null): boolean {
    if (value === null) return false
    if (value === this.#last) this.#times += 1
    else {
      this.#last = value
      this.#times = 1
    }
    return this.#times >= STUCK_AFTER && digits(value) >= FINE_DIGITS
  }
}

function digits(value: string): number {
  const mantissa = first(value.split(/[eE]/))
  return mantissa.replace(/[^0-9]/g, '').replace(/^0+/, '').length
}
