import type { OpenChunk } from './chunk-body.ts'
import { type LogRow, numberOf } from './rows.ts'

/** Readings in the order they were stored, as columns without their texts. Only the first `count` are meant. */
export interface ReadingPage {
  count: number
  readonly seq: Float64Array
  /** Id of the source, see Numbering. */
  readonly source: Uint32Array
  readonly utcUs: Float64Array
  readonly monoUs: Float64Array
  /** NaN where the reading has no number. */
  readonly value: Float64Array
  /** Marks as the file's own bits. */
  readonly marks: Uint32Array
}

export function emptyPage(most: number): ReadingPage {
  return {
    count: 0,
    seq: new Float64Array(most),
    source: new Uint32Array(most),
    utcUs: new Float64Array(most),
    monoUs: new Float64Array(most),
    value: new Float64Array(most),
    marks: new Uint32Array(most),
  }
}

export function fillFromRows(page: ReadingPage, rows: readonly LogRow[]): void {
  for (let i = 0; i < rows.length; i++) {
    const [seq, source, utcUs, monoUs, raw, value, marks] = rows[i]!
    page.seq[i] = seq
    page.source[i] = source
    page.utcUs[i] = utcUs
    page.monoUs[i] = monoUs
    page.value[i] = numberOf(raw, value)
    page.marks[i] = marks
  }
  page.count = rows.length
}

/** Goes through the chunks of one channel once, from the front. */
export class ChunkCursor {
  readonly #chunks: readonly { id: number; firstSeq: number }[]
  readonly #open: (id: number) => OpenChunk
  #next = 0
  #chunk: OpenChunk | undefined
  /** Next reading of the open chunk, and its seq. */
  #at = 0
  #seq = Number.POSITIVE_INFINITY

  constructor(chunks: readonly { id: number; firstSeq: number }[], open: (id: number) => OpenChunk) {
    this.#chunks = chunks
    this.#open = open
    this.#openNext()
  }

  /** Puts the channel's readings from `fromSeq` up to, not with, `endSeq` into their places; returns how many. */
  fill(page: ReadingPage, fromSeq: number, endSeq: number): number {
    let filled = 0
    while (this.#chunk && this.#seq < endSeq) {
      const { count, baseUtcUs, value, time, leadUs, mono, seqGap, kinds, kind } = this.#chunk
      let at = this.#at
      let seq = this.#seq
      while (at < count && seq < endSeq) {
        if (seq >= fromSeq) {
          const place = seq - fromSeq
          const k = kind === undefined ? 0 : 2 * kind[at]!
          const utcUs = baseUtcUs + time[at]!
          page.seq[place] = seq
          page.source[place] = kinds[k]!
          page.utcUs[place] = utcUs
          page.monoUs[place] = utcUs + leadUs + (mono === undefined ? 0 : mono[at]!)
          page.value[place] = value[at]!
          page.marks[place] = kinds[k + 1]!
          filled += 1
        }
        at += 1
        seq += at < count ? seqGap[at]! : 0
      }
      this.#at = at
      this.#seq = seq
      if (at >= count) this.#openNext()
    }
    return filled
  }

  #openNext(): void {
    const next = this.#chunks[this.#next++]
    this.#chunk = next && this.#open(next.id)
    this.#at = 0
    this.#seq = next?.firstSeq ?? Number.POSITIVE_INFINITY
  }
}
