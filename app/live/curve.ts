/** Readings nearer together than this part of the longest pause belong to one visit. */
const VISIT_PART = 0.25

/** Values over time with straight lines between them; held at the ends. */
export class Curve {
  readonly #times: readonly number[]
  readonly #values: readonly number[]

  constructor(times: readonly number[], values: readonly number[]) {
    const good = values.flatMap((value, i) => (Number.isFinite(value) ? [i] : []))
    this.#times = good.map((i) => times[i]!)
    this.#values = good.map((i) => values[i]!)
  }

  get length(): number {
    return this.#times.length
  }

  get times(): readonly number[] {
    return this.#times
  }

  mean(): number {
    if (this.length === 0) return Number.NaN
    const first = this.#values[0]!
    return first + this.#values.reduce((sum, v) => sum + (v - first), 0) / this.length
  }

  at(time: number): number {
    const times = this.#times
    const values = this.#values
    if (times.length === 0) return Number.NaN
    if (time <= times[0]!) return values[0]!
    if (time >= times.at(-1)!) return values.at(-1)!
    let low = 0
    let high = times.length - 1
    while (high - low > 1) {
      const middle = (low + high) >> 1
      if (times[middle]! <= time) low = middle
      else high = middle
    }
    const part = (time - times[low]!) / (times[high]! - times[low]!)
    return values[low]! + part * (values[high]! - values[low]!)
  }

  /** How long before its first or after its last value a time lies; 0 between them. */
  beyondS(time: number): number {
    if (this.length === 0) return 0
    return Math.max(0, this.#times[0]! - time, time - this.#times.at(-1)!)
  }

  /** The same with the readings of each visit averaged into one, so that single noise is not interpolated. */
  byVisit(): Curve {
    const times = this.#times
    if (times.length < 3) return this
    let longest = 0
    for (let i = 1; i < times.length; i++) longest = Math.max(longest, times[i]! - times[i - 1]!)
    const visitTimes: number[] = []
    const visitValues: number[] = []
    let from = 0
    for (let i = 1; i <= times.length; i++) {
      if (i < times.length && times[i]! - times[i - 1]! < VISIT_PART * longest) continue
      const n = i - from
      visitTimes.push(times.slice(from, i).reduce((sum, t) => sum + t, 0) / n)
      visitValues.push(this.#values.slice(from, i).reduce((sum, v) => sum + v, 0) / n)
      from = i
    }
    return new Curve(visitTimes, visitValues)
  }
}
