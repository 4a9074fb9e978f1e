/** Fills at a steady rate up to a brim; taking more than is in it fails. */
export class Allowance {
  #left: number
  #at: number
  readonly #perSecond: number
  readonly #brim: number

  constructor(perSecond: number, brim: number, nowMs: number) {
    this.#perSecond = perSecond
    this.#brim = brim
    this.#left = brim
    this.#at = nowMs
  }

  take(amount: number, nowMs: number): boolean {
    this.#left = Math.min(this.#brim, this.#left + ((nowMs - this.#at) / 1000) * this.#perSecond)
    this.#at = nowMs
    if (amount > this.#left) return false
    this.#left -= amount
    return true
  }
}
