/** A stream that cannot be cut any more: what comes is not what was agreed on. */
export class PacketError extends Error {}

/** How long a packet is, told by its first bytes. */
export interface PacketRule {
  /** Bytes that must be there before the length can be told. */
  readonly headBytes: number
  /**
   * Whole length in bytes of the packet that begins at `at`, of which `left` bytes are there; 0 while more of it is needed.
   * Throws PacketError where it cannot be a packet.
   */
  lengthOf(view: DataView, at: number, left: number): number
}

/**
 * Cuts a stream into packets. The result does not depend on how the bytes came in chunks. A packet handed over is valid
 * during the call only: its bytes may be those of a buffer that is used again.
 */
export class PacketCutter {
  readonly #rule: PacketRule
  readonly #take: (packet: Uint8Array) => void
  #held = new Uint8Array(0)
  #length = 0
  /** Of the buffer that came last: a socket reads into the same one again and again. */
  #view: DataView = new DataView(new ArrayBuffer(0))

  constructor(rule: PacketRule, take: (packet: Uint8Array) => void) {
    this.#rule = rule
    this.#take = take
  }

  /** Whether a packet has begun and not ended. */
  get begun(): boolean {
    return this.#length > 0
  }

  /** Forgets what has begun. */
  reset(): void {
    this.#length = 0
  }

  push(chunk: Uint8Array): void {
    if (this.#length === 0) {
      const used = this.#cut(chunk)
      if (used < chunk.length) this.#hold(used === 0 ? chunk : chunk.subarray(used))
      return
    }
    this.#hold(chunk)
    const used = this.#cut(this.#held.subarray(0, this.#length))
    if (used === 0) return
    this.#held.copyWithin(0, used, this.#length)
    this.#length -= used
    // One long packet must not keep its memory for the night.
    if (this.#length === 0 && this.#held.length > 1 << 17) this.#held = new Uint8Array(0)
  }

  #cut(bytes: Uint8Array): number {
    const { headBytes } = this.#rule
    if (this.#view.buffer !== bytes.buffer) this.#view = new DataView(bytes.buffer)
    let at = 0
    while (bytes.length - at >= headBytes) {
      const left = bytes.length - at
      const length = this.#rule.lengthOf(this.#view, bytes.byteOffset + at, left)
      if (length === 0 || left < length) break
      this.#take(bytes.subarray(at, at + length))
      at += length
    }
    return at
  }

  #hold(chunk: Uint8Array): void {
    const needed = this.#length + chunk.length
    if (needed > this.#held.length) {
      const grown = new Uint8Array(Math.max(256, needed, Math.min(this.#held.length * 2, 1 << 20)))
      grown.set(this.#held.subarray(0, this.#length))
      this.#held = grown
    }
    this.#held.set(chunk, this.#length)
    this.#length = needed
  }
}

/** One byte for each character, as the wires carry text. */
export function bytesOf(text: string): Uint8Array {
  const bytes = new Uint8Array(text.length)
  for (let i = 0; i < text.length; i++) bytes[i] = text.charCodeAt(i)
  return bytes
}

/** One character for each byte. */
export function textOf(bytes: Uint8Array): string {
  let text = ''
  if (bytes.length < 64) {
    for (const byte of bytes) text += String.fromCharCode(byte)
    return text
  }
  for (let i = 0; i < bytes.length; i += 4096) text += String.fromCharCode(...bytes.subarray(i, i + 4096))
  return text
}
