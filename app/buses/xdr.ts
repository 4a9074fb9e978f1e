import { bytesOf, textOf } from './packets.ts'
import { viewOf } from './view.ts'

/** Bytes that are not what the reader was told to find. */
export class XdrError extends Error {}

/** Writes XDR: big-endian, everything in units of four bytes (RFC 4506, 3 and 4). */
export class XdrWriter {
  #bytes: Uint8Array
  #length = 0

  constructor(size = 128) {
    this.#bytes = new Uint8Array(size)
  }

  get length(): number {
    return this.#length
  }

  uint(value: number): this {
    this.#room(4)
    this.setUint(this.#length, value)
    this.#length += 4
    return this
  }

  bool(value: boolean): this {
    return this.uint(value ? 1 : 0)
  }

  /** Bytes of any number, behind their count, filled up to four. */
  opaque(bytes: Uint8Array): this {
    const whole = (bytes.length + 3) & ~3
    this.#room(4 + whole)
    this.uint(bytes.length)
    this.#bytes.set(bytes, this.#length)
    this.#bytes.fill(0, this.#length + bytes.length, this.#length + whole)
    this.#length += whole
    return this
  }

  text(text: string): this {
    return this.opaque(bytesOf(text))
  }

  /** Writes a number over one that was written before. */
  setUint(at: number, value: number): void {
    const bytes = this.#bytes
    bytes[at] = value >>> 24
    bytes[at + 1] = value >>> 16
    bytes[at + 2] = value >>> 8
    bytes[at + 3] = value
  }

  /** What was written. */
  bytes(): Uint8Array {
    return this.#bytes.subarray(0, this.#length)
  }

  #room(more: number): void {
    const needed = this.#length + more
    if (needed <= this.#bytes.length) return
    const grown = new Uint8Array(Math.max(needed, 2 * this.#bytes.length))
    grown.set(this.#bytes)
    this.#bytes = grown
  }
}

/** Reads XDR; throws XdrError where the bytes end too early or a count cannot be true. */
export class XdrReader {
  readonly #bytes: Uint8Array
  readonly #view: DataView
  #at = 0

  constructor(bytes: Uint8Array) {
    this.#bytes = bytes
    this.#view = viewOf(bytes)
  }

  uint(): number {
    if (this.#at + 4 > this.#bytes.length) throw new XdrError('the message ends too early')
    const value = this.#view.getUint32(this.#at)
    this.#at += 4
    return value
  }

  int(): number {
    return this.uint() | 0
  }

  bool(): boolean {
    return this.uint() !== 0
  }

  opaque(): Uint8Array {
    const count = this.uint()
    const whole = (count + 3) & ~3
    if (count > 0x7fff_ffff || this.#at + whole > this.#bytes.length) {
      throw new XdrError('a count is larger than the message')
    }
    const bytes = this.#bytes.subarray(this.#at, this.#at + count)
    this.#at += whole
    return bytes
  }

  text(): string {
    return textOf(this.opaque())
  }
}
