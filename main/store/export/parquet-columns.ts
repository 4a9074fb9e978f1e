import type { ParquetType } from 'hyparquet'
import { first, last } from '../../../app/base/lists.ts'

/** Room for one value of eight bytes. */
const WIDE = 8
const WORD = 2 ** 32

/** Lowest and highest value of a column in a row group; nothing where it has none, or where nobody would ask for it. */
interface Range {
  readonly min_value?: bigint | number | string
  readonly max_value?: bigint | number | string
}

/** What a column has taken up since it was last emptied, as a page wants it. */
export interface ColumnPage {
  readonly values: Uint8Array
  /** 1 for each row that has a value, 0 for each that has none; nothing where every row must have one. */
  readonly present?: Uint8Array
  readonly nulls: number
  readonly range: Range
  /** Values of which `indexes` holds the numbers, where few come again and again; `values` are then these. */
  readonly indexes?: Uint32Array
  readonly distinct: number
}

/** One column of a row group in memory that is used again and again: no object for each value. */
export interface Column<T> {
  readonly name: string
  readonly type: ParquetType
  readonly isText: boolean
  readonly optional: boolean
  add(value: T): void
  /** The page is good until the next value is added. */
  take(): ColumnPage
}

/** Whole numbers up to 2^53 of either sign, as INT64. */
export class WholeColumn implements Column<number> {
  readonly type = 'INT64'
  readonly isText = false
  readonly optional = false
  readonly name: string
  readonly #view: DataView
  #count = 0
  #low = Number.POSITIVE_INFINITY
  #high = Number.NEGATIVE_INFINITY

  constructor(name: string, rows: number) {
    this.name = name
    this.#view = new DataView(new ArrayBuffer(rows * WIDE))
  }

  add(value: number): void {
    const high = Math.floor(value / WORD)
    const at = this.#count++ * WIDE
    this.#view.setUint32(at, value - high * WORD, true)
    this.#view.setInt32(at + 4, high, true)
    if (value < this.#low) this.#low = value
    if (value > this.#high) this.#high = value
  }

  take(): ColumnPage {
    const values = new Uint8Array(this.#view.buffer, 0, this.#count * WIDE)
    const range = this.#count === 0 ? {} : { min_value: BigInt(this.#low), max_value: BigInt(this.#high) }
    this.#count = 0
    this.#low = Number.POSITIVE_INFINITY
    this.#high = Number.NEGATIVE_INFINITY
    return { values, nulls: 0, range, distinct: 0 }
  }
}

/** Numbers, or none, as DOUBLE. */
export class NumberColumn implements Column<number | null> {
  readonly type = 'DOUBLE'
  readonly isText = false
  readonly optional = true
  readonly name: string
  readonly #view: DataView
  readonly #present: Uint8Array
  #rows = 0
  #count = 0
  #low = Number.POSITIVE_INFINITY
  #high = Number.NEGATIVE_INFINITY

  constructor(name: string, rows: number) {
    this.name = name
    this.#view = new DataView(new ArrayBuffer(rows * WIDE))
    this.#present = new Uint8Array(rows)
  }

  add(value: number | null): void {
    this.#present[this.#rows++] = value === null ? 0 : 1
    if (value === null) return
    this.#view.setFloat64(this.#count++ * WIDE, value, true)
    if (value < this.#low) this.#low = value
    if (value > this.#high) this.#high = value
  }

  take(): ColumnPage {
    const values = new Uint8Array(this.#view.buffer, 0, this.#count * WIDE)
    const present = this.#present.subarray(0, this.#rows)
    const nulls = this.#rows - this.#count
    // The lowest of zeros is -0 and the highest +0, whichever came (parquet.thrift, ColumnOrder).
    const range =
      this.#low > this.#high ? {} : { min_value: this.#low === 0 ? -0 : this.#low, max_value: this.#high + 0 }
    this.#rows = 0
    this.#count = 0
    this.#low = Number.POSITIVE_INFINITY
    this.#high = Number.NEGATIVE_INFINITY
    return { values, present, nulls, range, distinct: 0 }
  }
}

/** Texts one after the other, each after its length: what differs from row to row. */
class TextBytes {
  #bytes = Buffer.allocUnsafeSlow(1 << 16)
  #at = 0

  add(text: string): void {
    const from = this.#at + 4
    this.#room(from + 3 * text.length)
    const bytes = this.#bytes
    let i = 0
    for (; i < text.length; i++) {
      const code = text.charCodeAt(i)
      if (code > 0x7f) break
      bytes[from + i] = code
    }
    const length = i === text.length ? i : bytes.write(text, from, 'utf8')
    bytes.writeUInt32LE(length, this.#at)
    this.#at = from + length
  }

  take(): Uint8Array {
    const taken = this.#bytes.subarray(0, this.#at)
    this.#at = 0
    return taken
  }

  /** Room for so many bytes in all. */
  #room(least: number): void {
    if (least <= this.#bytes.length) return
    const wider = Buffer.allocUnsafeSlow(Math.max(2 * this.#bytes.length, least))
    wider.set(this.#bytes.subarray(0, this.#at))
    this.#bytes = wider
  }
}

/** Texts that hardly come twice. */
export class TextColumn implements Column<string | null> {
  readonly type = 'BYTE_ARRAY'
  readonly isText = true
  readonly name: string
  readonly optional: boolean
  readonly #texts = new TextBytes()
  readonly #present: Uint8Array | undefined
  #rows = 0
  #nulls = 0

  constructor(name: string, rows: number, optional: boolean) {
    this.name = name
    this.optional = optional
    if (optional) this.#present = new Uint8Array(rows)
  }

  add(value: string | null): void {
    if (this.#present) this.#present[this.#rows] = value === null ? 0 : 1
    this.#rows++
    if (value === null) this.#nulls++
    else this.#texts.add(value)
  }

  take(): ColumnPage {
    const values = this.#texts.take()
    const page = { values, nulls: this.#nulls, range: {}, distinct: 0 }
    const present = this.#present?.subarray(0, this.#rows)
    this.#rows = 0
    this.#nulls = 0
    return present ? { ...page, present } : page
  }
}

/** Texts of which few come again and again. */
export class FewTextsColumn implements Column<string> {
  readonly type = 'BYTE_ARRAY'
  readonly isText = true
  readonly optional = false
  readonly name: string
  readonly #indexes: Uint32Array
  readonly #known = new Map<string, number>()
  #rows = 0

  constructor(name: string, rows: number) {
    this.name = name
    this.#indexes = new Uint32Array(rows)
  }

  add(value: string): void {
    let index = this.#known.get(value)
    if (index === undefined) {
      index = this.#known.size
      this.#known.set(value, index)
    }
    this.#indexes[this.#rows++] = index
  }

  take(): ColumnPage {
    const texts = new TextBytes()
    // Texts are ordered by their bytes (parquet.thrift, ColumnOrder).
    const ordered = [...this.#known.keys()].sort((a, b) => Buffer.compare(Buffer.from(a), Buffer.from(b)))
    for (const text of this.#known.keys()) texts.add(text)
    const indexes = this.#indexes.subarray(0, this.#rows)
    const distinct = this.#known.size
    this.#known.clear()
    this.#rows = 0
    return {
      values: texts.take(),
      nulls: 0,
      range: distinct === 0 ? {} : { min_value: first(ordered), max_value: last(ordered) },
      indexes,
      distinct,
    }
  }
}
