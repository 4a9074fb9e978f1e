/** Addresses whose wrong keys are counted; more begin anew. */
const MOST_COUNTED = 1000
const MOST_WRONG = 20

/** Wrong keys: 20 a minute from one address are told that they are wrong. */
export class Throttle {
  readonly #wrong = new Map<string, number[]>()

  isOneTooMany(from: string): boolean {
    const now = Date.now()
    const lately = (this.#wrong.get(from) ?? []).filter((at) => at > now - 60_000)
    if (lately.length >= MOST_WRONG) return true
    if (this.#wrong.size >= MOST_COUNTED) this.#wrong.clear()
    this.#wrong.set(from, [...lately, now])
    return false
  }
}
