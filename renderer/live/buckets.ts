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
  #lastTime = Number.NaN
  /** Running mean of the time between readings, which tells a gap. */
  #interval = 0
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
    this.#lastTime = Number.NaN
    this.#interval = 0
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
    const step = time - this.#lastTime
    const usual = this.#interval
    const afterGap = usual > 0 && step > usual * 4 + 0.5 && step > width
    if (step > 0 && !afterGap) this.#interval = usual === 0 ? step : usual + (step - usual) * 0.1
    this.#lastTime = time
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

  /** Takes in what a ring has that was not seen yet; `value` makes the shown number of a place in the ring. */
  follow(ring: ReadingRing, width: number, value: (slot: number) => number): void {
    const fresh = Math.min(ring.length, ring.total - this.seen)
    for (let i = ring.length - fresh; i < ring.length; i++) {
      const slot = ring.slot(i)
      this.add(ring.time[slot]!, value(slot), width)
    }
    this.seen = ring.total
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
}

const mod = (n: number, m: number): number => ((n % m) + m) % m

/** The least of a row of plain widths (1, 2, 5, 10 ... s) that covers `spanS` in at most `most` buckets. */
export function bucketWidth(spanS: number, most: number): number {
  const least = spanS / most
  const power = 10 ** Math.floor(Math.log10(least))
  for (const step of [1, 2, 5, 10]) if (power * step >= least * (1 - 1e-12)) return power * step
  return power * 10
}
