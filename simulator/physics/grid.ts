/** Physics advances on a fixed grid of this step, so that results never depend on when somebody asks. */
export const STEP_S = 1
const KEPT = 128

/** The last two minutes of a quantity on the grid, read at any moment between. */
export class Trace {
  readonly #values = new Float64Array(KEPT)
  #last = -1

  constructor(initial: number) {
    this.#values.fill(initial)
  }

  /** The value at grid step `index`; indices arrive one after another. */
  push(index: number, value: number): void {
    this.#values[index % KEPT] = value
    this.#last = index
  }

  get latest(): number {
    return this.#values[Math.max(0, this.#last) % KEPT]!
  }

  /** Straight line between grid steps; the oldest kept value before that, the newest after it. */
  at(seconds: number): number {
    const last = Math.max(0, this.#last)
    const position = Math.min(last, Math.max(0, last - KEPT + 1, seconds / STEP_S))
    const below = Math.floor(position)
    const above = Math.min(last, below + 1)
    const low = this.#values[below % KEPT]!
    return low + (this.#values[above % KEPT]! - low) * (position - below)
  }
}
