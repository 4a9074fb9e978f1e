import { hash } from 'node:crypto'

export const sha256 = (bytes: Uint8Array): Buffer => hash('sha256', bytes, 'buffer')

const TAGS = { source: 1, mark: 2, reading: 3, event: 4, point: 5 } as const
/** Length that stands for a value that is the raw text itself, and for none. */
const SAME_AS_RAW = -2
const NONE = -1

/** What a writer tells the chain of a batch, row by row. */
export interface ChainBytes {
  start(before: Uint8Array, n: number): void
  reading(
    seq: number,
    utcUs: number,
    monoUs: number,
    source: number,
    marks: number,
    raw: string,
    value: string | null,
  ): void
  row(kind: 'source' | 'mark' | 'event' | 'point', columns: readonly unknown[]): void
  digest(): Buffer
}

/**
 * The bytes a batch is hashed over, little-endian: the hash before it (32), its number (f64), then each new row:
 *
 *   reading        3 (u8), seq, utcUs, monoUs (f64 each), source, marks (u32 each), raw and value as texts
 *   any other row  its tag (u8) and one text, the JSON of an array of its columns in order
 *   text           length in bytes (i32) and UTF-8; value: -1 for none, -2 where it is the raw text itself
 *
 * docs/session-file.md says the same for a reader who has no program of ours.
 */
export class BatchBytes implements ChainBytes {
  #bytes = Buffer.allocUnsafe(1 << 16)
  #view = new DataView(this.#bytes.buffer, this.#bytes.byteOffset)
  #at = 0

  start(before: Uint8Array, n: number): void {
    this.#bytes.set(before, 0)
    this.#view.setFloat64(32, n, true)
    this.#at = 40
  }

  reading(
    seq: number,
    utcUs: number,
    monoUs: number,
    source: number,
    marks: number,
    raw: string,
    value: string | null,
  ): void {
    this.#room(48 + 3 * raw.length + (value === null ? 0 : 3 * value.length))
    const view = this.#view
    let at = this.#at
    this.#bytes[at] = TAGS.reading
    view.setFloat64(at + 1, seq, true)
    view.setFloat64(at + 9, utcUs, true)
    view.setFloat64(at + 17, monoUs, true)
    view.setUint32(at + 25, source, true)
    view.setUint32(at + 29, marks, true)
    at += 33
    const rawLength = this.#bytes.write(raw, at + 4, 'utf8')
    view.setInt32(at, rawLength, true)
    at += 4 + rawLength
    if (value === '=' || value === null) {
      view.setInt32(at, value === null ? NONE : SAME_AS_RAW, true)
      this.#at = at + 4
    } else {
      const length = this.#bytes.write(value, at + 4, 'utf8')
      view.setInt32(at, length, true)
      this.#at = at + 4 + length
    }
  }

  row(kind: 'source' | 'mark' | 'event' | 'point', columns: readonly unknown[]): void {
    const text = JSON.stringify(columns)
    this.#room(8 + 3 * text.length)
    this.#bytes[this.#at] = TAGS[kind]
    const length = this.#bytes.write(text, this.#at + 5, 'utf8')
    this.#view.setInt32(this.#at + 1, length, true)
    this.#at += 5 + length
  }

  digest(): Buffer {
    return sha256(this.#bytes.subarray(0, this.#at))
  }

  #room(bytes: number): void {
    if (this.#at + bytes <= this.#bytes.length) return
    const grown = Buffer.allocUnsafe(Math.max(2 * this.#bytes.length, this.#at + bytes))
    this.#bytes.copy(grown, 0, 0, this.#at)
    this.#bytes = grown
    this.#view = new DataView(grown.buffer, grown.byteOffset)
  }
}

/** Hash before the first batch: it covers what the session was set up with, as stored. */
export function genesis(info: string, setup: string): Buffer {
  return sha256(Buffer.from(`stillpoint session\n${info}\n${setup}\n`, 'utf8'))
}
