/** Steps may stretch to this many times the usual before they count as a gap, and by this many seconds on top. */
const STRETCH = 4
const LEEWAY_S = 0.5
const WEIGHT = 0.1

/** The usual time between readings, learnt from them, which tells a gap from a slow instrument. */
export class Cadence {
  #last = Number.NaN
  #usual = 0

  /** Takes the next time in; true where a gap lies before it. */
  step(time: number): boolean {
    const step = time - this.#last
    this.#last = time
    if (!(step > 0)) return false
    const reach = this.reach
    // Even a gap moves it a little, so that a scan that has become slower is taken for one after a few readings.
    this.#usual =
      this.#usual === 0 ? step : this.#usual + (Math.min(step, STRETCH * this.#usual) - this.#usual) * WEIGHT
    return step > reach
  }

  /** Time after a reading for which it still stands, s; endless until two are known. */
  get reach(): number {
    return this.#usual === 0 ? Number.POSITIVE_INFINITY : STRETCH * this.#usual + LEEWAY_S
  }

  /** Time of the last reading. */
  get last(): number {
    return this.#last
  }

  clear(): void {
    this.#last = Number.NaN
    this.#usual = 0
  }
}
