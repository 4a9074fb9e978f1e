/** How the bytes of a link become replies. */
export interface Framing {
  /** What ends a reply: a terminator, a fixed number of bytes, or silence (told by the owner through `flush`). */
  readonly end:
    | { readonly kind: 'terminator'; readonly text: string }
    | { readonly kind: 'length'; readonly bytes: number }
    | { readonly kind: 'silence'; readonly ms: number }
  /** Longest reply accepted. What is longer is dropped up to the next terminator and reported once. */
  readonly maxBytes: number
  /** Prompts and acknowledgement bytes that come without a terminator, looked for where a reply would start. */
  readonly tokens: readonly string[]
  /** Whether a reply may be an IEEE 488.2 definite-length block, whose bytes may contain the terminator. */
  readonly blocks: boolean
  /**
   * Whether the wire tells where a message ends: then an indefinite-length block is ended by that alone, and its bytes may
   * hold the terminator as well. On a line its end is the first terminator.
   */
  readonly ends?: boolean
}

export interface FrameListener {
  /** One reply without its terminator, one character per byte; `token` when it is one of the tokens. */
  frame(text: string, token: boolean): void
  /** A reply longer than the cap was dropped. */
  overflow(): void
}

const HASH = 0x23
const ZERO = 0x30

/** Cuts a stream of bytes into replies. The result does not depend on how the bytes were cut into chunks. */
export class Framer {
  readonly #framing: Framing
  readonly #listener: FrameListener
  readonly #terminator: Buffer
  readonly #tokens: readonly Buffer[]
  readonly #lastByte: number
  readonly #simple: boolean
  #held: Buffer = Buffer.alloc(0)
  #length = 0
  #scanned = 0
  #overflowing = false
  /** How many bytes were held when a message ended. */
  #ended = -1

  constructor(framing: Framing, listener: FrameListener) {
    this.#framing = framing
    this.#listener = listener
    this.#terminator = Buffer.from(framing.end.kind === 'terminator' ? framing.end.text : '', 'latin1')
    this.#lastByte = this.#terminator.at(-1) ?? -1
    this.#tokens = framing.tokens.map((token) => Buffer.from(token, 'latin1'))
    this.#simple = framing.end.kind === 'terminator' && framing.tokens.length === 0 && !framing.blocks
  }

  /** Whether a reply has begun and not ended. */
  get begun(): boolean {
    return this.#length > 0 || this.#overflowing
  }

  /** `ended`: a message ends with these bytes. */
  push(bytes: Uint8Array, ended = false): void {
    const chunk = Buffer.isBuffer(bytes) ? bytes : Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length)
    if (this.#length === 0 && this.#simple && !this.#overflowing && this.#pushWhole(chunk)) return
    this.#hold(chunk)
    this.#ended = ended ? this.#length : -1
    this.#cut()
    this.#ended = -1
  }

  /** Takes what is held as one string and starts anew. */
  takePending(): string {
    const text = this.#held.toString('latin1', 0, this.#length)
    this.reset()
    return text
  }

  /** Hands what is held over as a reply: where silence ends replies. */
  flush(): void {
    if (this.#overflowing) this.reset()
    else if (this.#length > 0) this.#listener.frame(this.takePending(), false)
  }

  reset(): void {
    this.#length = 0
    this.#scanned = 0
    this.#overflowing = false
  }

  /** The usual case, one whole reply in one chunk, without copying. */
  #pushWhole(chunk: Buffer): boolean {
    const end = chunk.length - this.#terminator.length
    if (end <= 0 || end > this.#framing.maxBytes) return false
    if (chunk.indexOf(this.#lastByte) !== chunk.length - 1) return false
    for (let i = 0; i < this.#terminator.length; i++) {
      if (chunk[end + i] !== this.#terminator[i]) return false
    }
    this.#listener.frame(chunk.toString('latin1', 0, end), false)
    return true
  }

  #hold(chunk: Buffer): void {
    const needed = this.#length + chunk.length
    if (needed > this.#held.length) {
      const grown = Buffer.allocUnsafe(Math.max(256, needed, Math.min(this.#held.length * 2, 1 << 16)))
      this.#held.copy(grown, 0, 0, this.#length)
      this.#held = grown
    }
    chunk.copy(this.#held, this.#length)
    this.#length = needed
  }

  #cut(): void {
    let start = 0
    for (;;) {
      const next = this.#overflowing ? this.#skip(start) : this.#take(start)
      if (next === undefined) break
      start = next
    }
    // While skipping an over-long reply only what may be the beginning of a terminator is kept.
    if (this.#overflowing) start = Math.max(start, this.#length - Math.max(0, this.#terminator.length - 1))
    if (start > 0) {
      this.#held.copyWithin(0, start, this.#length)
      this.#length -= start
      this.#scanned = Math.max(0, this.#scanned - start)
    }
    if (this.#length === 0) {
      this.#scanned = 0
      // One long burst must not keep its memory for the night.
      if (this.#held.length > 1 << 17) this.#held = Buffer.alloc(0)
    }
  }

  /** Looks for the end of the reply that begins at `start`; the position after it; undefined when more bytes are needed. */
  #take(start: number): number | undefined {
    if (start >= this.#length) return undefined
    const token = this.#tokenAt(start)
    if (token === 'maybe') return undefined
    if (token !== undefined) {
      this.#scanned = start + token.length
      this.#listener.frame(token.toString('latin1'), true)
      return this.#scanned
    }
    const cap = this.#framing.maxBytes
    const tail = this.#terminator.length
    const end = this.#endOf(start)
    if (end < 0 ? this.#length - start > cap + Math.max(0, tail - 1) : end - start > cap) {
      this.#overflowing = true
      this.#listener.overflow()
      if (end > this.#length) return start + 1
      return end < 0 ? Math.max(start, this.#length - Math.max(0, tail - 1)) : end
    }
    if (end < 0) {
      this.#scanned = Math.max(start, this.#length - Math.max(0, tail - 1))
      return undefined
    }
    this.#scanned = end + tail
    if (end > start) this.#listener.frame(this.#held.toString('latin1', start, end), false)
    return end + tail
  }

  /**
   * Position of the terminator (or of the end by length); -1 when it is not there yet; past all bytes held when a
   * block announces more than the cap.
   */
  #endOf(start: number): number {
    const { end } = this.#framing
    if (end.kind === 'silence') return -1
    if (end.kind === 'length') return this.#length - start >= end.bytes ? start + end.bytes : -1
    let from = Math.max(start, this.#scanned)
    if (this.#framing.blocks && this.#held[start] === HASH) {
      if (this.#framing.ends === true && this.#length - start < 2) return -1
      if (this.#framing.ends === true && this.#held[start + 1] === ZERO)
        return this.#ended < 0 ? -1 : this.#ended - this.#terminator.length
      const afterBlock = this.#blockEnd(start)
      if (afterBlock < 0) return -1
      from = Math.max(from, afterBlock)
      if (from > this.#length) return from - start > this.#framing.maxBytes ? Number.POSITIVE_INFINITY : -1
    }
    const found = this.#held.indexOf(this.#terminator, from)
    return found >= 0 && found + this.#terminator.length <= this.#length ? found : -1
  }

  /** End of a definite block's bytes; `start` when it is not a definite block; -1 while its header is incomplete. */
  #blockEnd(start: number): number {
    if (this.#length - start < 2) return -1
    const digits = (this.#held[start + 1] ?? 0) - ZERO
    if (digits < 1 || digits > 9) return start
    const count = this.#held.toString('latin1', start + 2, Math.min(this.#length, start + 2 + digits))
    if (!/^\d*$/.test(count)) return start
    return count.length === digits ? start + 2 + digits + Number(count) : -1
  }

  #tokenAt(start: number): Buffer | 'maybe' | undefined {
    for (const token of this.#tokens) {
      const there = Math.min(token.length, this.#length - start)
      if (this.#held.compare(token, 0, there, start, start + there) !== 0) continue
      return there === token.length ? token : 'maybe'
    }
    return undefined
  }

  /** Drops bytes up to the terminator; the position after it; undefined when it has not come. */
  #skip(start: number): number | undefined {
    if (this.#terminator.length === 0) return undefined
    const found = this.#held.indexOf(this.#terminator, start)
    if (found < 0 || found + this.#terminator.length > this.#length) return undefined
    this.#overflowing = false
    this.#scanned = found + this.#terminator.length
    return this.#scanned
  }
}
