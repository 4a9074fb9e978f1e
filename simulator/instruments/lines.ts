/** Cuts a stream into lines at any of the given terminators; over-long lines come out as `undefined`, whole. */
export class LineCutter {
  readonly #ends: RegExp
  readonly #longest: number
  #held = ''
  #tooLong = false

  constructor(ends: RegExp, longest: number) {
    this.#ends = ends
    this.#longest = longest
  }

  clear(): void {
    this.#held = ''
    this.#tooLong = false
  }

  /** Adds what has arrived and returns the lines it completes. */
  *take(text: string): Generator<string | undefined> {
    this.#held += text
    for (;;) {
      const found = this.#ends.exec(this.#held)
      if (!found) break
      const line = this.#held.slice(0, found.index)
      this.#held = this.#held.slice(found.index + found[0].length)
      const lost = this.#tooLong || line.length > this.#longest
      this.#tooLong = false
      yield lost ? undefined : line
    }
    if (this.#held.length > this.#longest) {
      this.#tooLong = true
      this.#held = ''
    }
  }
}
