import { at, last } from '../base/lists.ts'

/** Readings nearer together than this part of the longest pause belong to one visit. */
const VISIT_PART = 0.25

/** Values over time with straight lines between them; held at the ends. */
export class Curve {
  readonly #times: readonly number[]
  readonly #values: readonly number[]

  constructor(times: readonly number[], values: readonly number[]) {
    const good = values.flatMap((value, i) => (Number.isFinite(value) ? [i] : []))
    this.#times = good.map((i) => at(times, i))
    this.#values = good.map((i) => at(values, i))
  }

  get length(): number {
    return this.#times.length
  }

  get times(): readonly number[] {
    return this.#times
  }

  mean(): number {
    if (this.length === 0) return Number.NaN
    const first = at(this.#values, 0)
    return first + this.#values.reduce((sum, v) => sum + (v - first), 0) / this.length
  }

  at(time: number): number {
    const times = this.#times
    const values = this.#values
    if (times.length === 0) return Number.NaN
    if (time <= at(times, 0)) return at(values, 0)
    if (time >= last(times)) return last(values)
    let low = 0
    let high = times.length - 1
    while (high - low > 1) {
      const middle = (low + high) >> 1
      if (at(times, middle) <= time) low = middle
      else high = middle
    }
    const part = (time - at(times, low)) / (at(times, high) - at(times, low))
    return at(values, low) + part * (at(values, high) - at(values, low))
  }

  /** How long before its first or after its last value a time lies; 0 between them. */
  beyondS(time: number): number {
    if (this.length === 0) return 0
    return Math.max(0, at(this.#times, 0) - time, time - last(this.#times))
  }

  /** The same with the readings of each visit averaged into one, so that single noise is not interpolated. */
  byVisit(): Curve {
    const times = this.#times
    if (times.length < 3) return this
    let longest = 0
    for (let i = 1; i < times.length; i++) longest = Math.max(longest, at(times, i) - at(times, i - 1))
    const visitTimes: number[] = []
    const visitValues: number[] = []
    let from = 0
    for (let i = 1; i <= times.length; i++) {
      if (i < times.length && at(times, i) - at(times, i - 1) < VISIT_PART * longest) continue
      const n = i - from
      visitTimes.push(times.slice(from, i).reduce((sum, t) => sum + t, 0) / n)
      visitValues.push(this.#values.slice(from, i).reduce((sum, v) => sum + v, 0) / n)
      from = i
    }
    return new Curve(visitTimes, visitValues)
  }
}
