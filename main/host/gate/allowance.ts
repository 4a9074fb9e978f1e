/** Fills at a steady rate up to a brim. Whoever draws more than is in it has to wait until it is even again. */
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

  /** Takes an amount where there is enough of it. */
  take(amount: number, nowMs: number): boolean {
    this.#fill(nowMs)
    if (amount > this.#left) return false
    this.#left -= amount
    return true
  }

  /** Takes an amount in any case; how long it takes to make up for what was not there, ms. */
  draw(amount: number, nowMs: number): number {
    this.#fill(nowMs)
    this.#left -= amount
    return this.#left >= 0 ? 0 : (-this.#left / this.#perSecond) * 1000
  }

  #fill(nowMs: number): void {
    this.#left = Math.min(this.#brim, this.#left + ((nowMs - this.#at) / 1000) * this.#perSecond)
    this.#at = nowMs
  }
}
