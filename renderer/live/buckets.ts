import { powerOfTen } from '../../app/base/powers.ts'
import { Cadence } from './cadence.ts'
import type { ReadingRing } from './ring.ts'

/** Draws nothing and joins nothing: uPlot breaks a line at null and passes over undefined. */
export type Plotted = (number | null | undefined)[]

const EMPTY = Number.NaN

/**
 * One channel's readings in buckets of equal width on an absolute grid, keeping each bucket's extremes in the order in
 * which they came. New readings touch only their own bucket; sliding on empties the buckets that come in.
 */
export class BucketLane {
  readonly #low: Float64Array
  readonly #high: Float64Array
  readonly #lowFirst: Uint8Array
  readonly #gap: Uint8Array
  readonly #count: number
  /** Absolute number of the first bucket. */
  #first = 0
  readonly #cadence = new Cadence()
  /** Readings of the ring already seen. */
  seen = 0

  constructor(count: number) {
    this.#count = count
    this.#low = new Float64Array(count).fill(EMPTY)
    this.#high = new Float64Array(count).fill(EMPTY)
    this.#lowFirst = new Uint8Array(count)
    this.#gap = new Uint8Array(count)
  }

  clear(first: number): void {
    this.#first = first
    this.#low.fill(EMPTY)
    this.#high.fill(EMPTY)
    this.#gap.fill(0)
    this.#cadence.clear()
  }

  slideTo(first: number): void {
    if (first - this.#first >= this.#count) {
      this.clear(first)
      return
    }
    for (; this.#first < first; this.#first++) {
      const slot = mod(this.#first, this.#count)
      this.#low[slot] = EMPTY
      this.#high[slot] = EMPTY
      this.#gap[slot] = 0
    }
  }

  add(time: number, value: number, width: number): void {
    const bucket = Math.floor(time / width)
    const inside = bucket >= this.#first && bucket < this.#first + this.#count
    const { last } = this.#cadence
    const afterGap = this.#cadence.step(time) && time - last > width
    if (!inside || !Number.isFinite(value)) return
    const slot = mod(bucket, this.#count)
    if (afterGap) this.#gap[slot] = 1
    this.#put(slot, value)
  }

  #put(slot: number, value: number): void {
    if (Number.isNaN(this.#low[slot]!)) {
      this.#low[slot] = value
      this.#high[slot] = value
      this.#lowFirst[slot] = 1
    } else if (value < this.#low[slot]!) {
      this.#low[slot] = value
      this.#lowFirst[slot] = 0
    } else if (value > this.#high[slot]!) {
      this.#high[slot] = value
      this.#lowFirst[slot] = 1
    }
  }

  /** Extremes known from the record. */
  addExtremes(time: number, low: number, high: number, width: number): void {
    this.add(time, low, width)
    const bucket = Math.floor(time / width)
    if (bucket >= this.#first && bucket < this.#first + this.#count && Number.isFinite(high))
      this.#put(mod(bucket, this.#count), high)
  }

  /**
   * Takes in what a ring has that was not seen yet, up to `until`; `value` makes the shown number of a place in the ring.
   */
  follow(
    ring: ReadingRing,
    width: number,
    value: (slot: number) => number,
    until = Number.POSITIVE_INFINITY,
  ): void {
    const fresh = Math.min(ring.length, ring.total - this.seen)
    this.seen = ring.total - fresh
    for (let i = ring.length - fresh; i < ring.length; i++) {
      const slot = ring.slot(i)
      const time = ring.time[slot]!
      if (time > until) return
      this.add(time, value(slot), width)
      this.seen += 1
    }
  }

  /** Writes two places a bucket into `out`: first the extreme that came first. */
  writeTo(out: Plotted): void {
    for (let i = 0; i < this.#count; i++) {
      const slot = mod(this.#first + i, this.#count)
      const low = this.#low[slot]!
      const at = i * 2
      if (Number.isNaN(low)) {
        out[at] = undefined
        out[at + 1] = undefined
        continue
      }
      const high = this.#high[slot]!
      const lowFirst = this.#lowFirst[slot] === 1
      out[at] = lowFirst ? low : high
      out[at + 1] = high === low ? undefined : lowFirst ? high : low
      if (this.#gap[slot] === 1 && i > 0) out[at - 1] = null
    }
  }

  writeBars({ low, high, last, gap }: Bars): void {
    for (let i = 0; i < this.#count; i++) {
      const slot = mod(this.#first + i, this.#count)
      low[i] = this.#low[slot]!
      high[i] = this.#high[slot]!
      last[i] = this.#lowFirst[slot] === 1 ? high[i]! : low[i]!
      gap[i] = this.#gap[slot]!
    }
  }
}

/** What buckets hold, one place each; `low` is NaN where nothing is. */
export interface Bars {
  low: Float64Array
  high: Float64Array
  /** The extreme that came last: where the line leaves the bucket. */
  last: Float64Array
  /** 1 where a gap lies before the bucket. */
  gap: Uint8Array
}

const mod = (n: number, m: number): number => ((n % m) + m) % m

/** The least of a row of plain widths (1, 2, 5, 10 ... s) that covers `spanS` in at most `most` buckets. */
export function bucketWidth(spanS: number, most: number): number {
  const least = spanS / most
  const power = 10 ** powerOfTen(least)
  for (const step of [1, 2, 5, 10]) if (power * step >= least * (1 - 1e-12)) return power * step
  return power * 10
}
