const FIRST_BYTES = 1 << 20
const ZERO = 48
/** Digits of 2^64: no whole number of ours, nor its width, has more. */
const MOST_DIGITS = 20

/**
 * Text as UTF-8 in a buffer that is used again and again: millions of rows are written without a string for each. Whole numbers
 * are written as their digits; other text byte by byte where it is ASCII, as most is.
 */
export class RowBytes {
  #bytes = Buffer.allocUnsafeSlow(FIRST_BYTES)
  #at = 0

  /** What was written since the last `take`; good until the next is written. */
  take(): Uint8Array {
    const taken = this.#bytes.subarray(0, this.#at)
    this.#at = 0
    return taken
  }

  byte(code: number): void {
    if (this.#at === this.#bytes.length) this.#room(1)
    this.#bytes[this.#at++] = code
  }

  text(text: string): void {
    // No UTF-16 unit takes more than three bytes.
    const most = 3 * text.length
    if (this.#at + most > this.#bytes.length) this.#room(most)
    const from = this.#at
    const bytes = this.#bytes
    for (let i = 0; i < text.length; i++) {
      const code = text.charCodeAt(i)
      if (code > 0x7f) {
        this.#at = from + bytes.write(text, from, 'utf8')
        return
      }
      bytes[from + i] = code
    }
    this.#at = from + text.length
  }

  /** Digits of a whole number from 0 up to 2^53, with zeros before them up to a width. */
  whole(value: number, width = 1): void {
    if (this.#at + MOST_DIGITS > this.#bytes.length) this.#room(MOST_DIGITS)
    let digits = width
    for (let ten = 10 ** width; ten <= value; ten *= 10) digits++
    const bytes = this.#bytes
    let rest = value
    for (let at = this.#at + digits - 1; at >= this.#at; at--) {
      const shorter = Math.floor(rest / 10)
      bytes[at] = ZERO + rest - 10 * shorter
      rest = shorter
    }
    this.#at += digits
  }

  #room(more: number): void {
    const wider = Buffer.allocUnsafeSlow(Math.max(2 * this.#bytes.length, this.#at + more))
    wider.set(this.#bytes.subarray(0, this.#at))
    this.#bytes = wider
  }
}
