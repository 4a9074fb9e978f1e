import { emptyStretch, type Stretch } from './chunk.ts'

/** Numbers kept of a reading: seq, utcUs, monoUs, value, source, marks. */
const WIDTH = 6

/**
 * Readings of a channel that are in the log and in no chunk yet. Each reading's numbers lie side by side: a scan adds one
 * to each of many channels, and so touches one line of the processor's cache for each and not six.
 */
export class Tail {
  count = 0
  #rows = new Float64Array(64 * WIDTH)
  #allMarks = 0
  #stretch: Stretch | undefined

  add(seq: number, utcUs: number, monoUs: number, value: number, source: number, marks: number): void {
    const at = this.count * WIDTH
    if (at === this.#rows.length) this.#grow()
    const rows = this.#rows
    rows[at] = seq
    rows[at + 1] = utcUs
    rows[at + 2] = monoUs
    rows[at + 3] = value
    rows[at + 4] = source
    rows[at + 5] = marks
    this.#allMarks |= marks
    this.count += 1
    this.#stretch = undefined
  }

  /** The readings as columns. */
  get stretch(): Stretch {
    this.#stretch ??= this.copyTo(emptyStretch(this.count))
    return this.#stretch
  }

  /** seq of the last reading; 0 where there is none. */
  get lastSeq(): number {
    return this.count === 0 ? 0 : this.#rows[(this.count - 1) * WIDTH]!
  }

  /** Forgets everything up to `seq`, which now lies in a chunk. */
  dropTo(seq: number): void {
    const rows = this.#rows
    let keep = 0
    while (keep < this.count && rows[keep * WIDTH]! <= seq) keep++
    if (keep === 0) return
    rows.copyWithin(0, keep * WIDTH, this.count * WIDTH)
    this.count -= keep
    this.#allMarks = 0
    for (let i = 0; i < this.count; i++) this.#allMarks |= rows[i * WIDTH + 5]!
    this.#stretch = undefined
  }

  /** The readings as columns, into a stretch that has room for them. */
  copyTo(stretch: Stretch): Stretch {
    const { count } = this
    const rows = this.#rows
    stretch.count = count
    stretch.allMarks = this.#allMarks
    const { seq, utcUs, monoUs, value, source, marks } = stretch
    for (let i = 0, at = 0; i < count; i++, at += WIDTH) {
      seq[i] = rows[at]!
      utcUs[i] = rows[at + 1]!
      monoUs[i] = rows[at + 2]!
      value[i] = rows[at + 3]!
      source[i] = rows[at + 4]!
      marks[i] = rows[at + 5]!
    }
    return stretch
  }

  #grow(): void {
    const larger = new Float64Array(2 * this.#rows.length)
    larger.set(this.#rows)
    this.#rows = larger
  }
}
