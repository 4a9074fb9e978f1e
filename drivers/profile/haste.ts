/** An answer in less than this part of the work that the profile states cannot be to the question just asked. */
const SOONEST = 0.5
/** So many answers in a row that are refused as too soon, and it is the profile that is wrong. */
const MOST_IN_A_ROW = 5

/** How soon an instrument may answer, as a part of the work that its profile states. */
export class Haste {
  #soonest: number
  #inARow = 0
  #slowest = 0

  /** `atOnce`: what answers here does no work of its own, as in a transcript. */
  constructor(atOnce = false) {
    this.#soonest = atOnce ? 0 : SOONEST
  }

  get soonest(): number {
    return this.#soonest
  }

  onTime(): void {
    this.#inARow = 0
    this.#slowest = 0
  }

  /** An answer came at this part of the time allowed. True when that has become the rule: half of it is allowed then. */
  tooSoon(part: number): boolean {
    this.#inARow += 1
    this.#slowest = Math.max(this.#slowest, part)
    if (this.#inARow < MOST_IN_A_ROW) return false
    this.#soonest *= this.#slowest * SOONEST
    this.onTime()
    return true
  }
}
