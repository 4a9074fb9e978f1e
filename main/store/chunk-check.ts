import { type Said, said } from '../../app/messages/said.ts'
import { packCells } from './cells.ts'
import { type ChunkSummary, havingMarks, summarise } from './chunk.ts'
import { packChunk } from './chunk-body.ts'
import { StoreError } from './errors.ts'
import { type LogRow, numberOf } from './rows.ts'
import type { SessionFile } from './session-file.ts'
import { Tail } from './tail.ts'

interface ChunkRow extends ChunkSummary {
  id: number
  cells: Buffer | null
  body: Buffer | null
}

interface Channel {
  number: number
  tail: Tail
  next: ChunkRow | undefined
  chunks: number
  /** What the file says of the channel: how many chunks, and that they hold everything up to this seq. */
  sealed: { chunks: number; throughSeq: number }
}

/** Follows the log row by row and holds each chunk against what the log says. */
export class ChunkCheck {
  readonly #file: SessionFile
  readonly #channels = new Map<number, Channel>()
  readonly #find
  readonly #sealed

  constructor(file: SessionFile) {
    this.#file = file
    // Chunks of earlier forms are not looked at by anybody, and built anew with the newest form.
    if (file.version < 3) return
    this.#sealed = file.database.prepare(
      'SELECT chunks, through_seq AS throughSeq FROM sealed WHERE channel = ?',
    )
    this.#find = file.database.prepare(
      `SELECT id, count, first_seq AS firstSeq, last_seq AS lastSeq, low_utc_us AS lowUtcUs,
         high_utc_us AS highUtcUs, numbers, low, high, total, cells, body FROM chunk
         LEFT JOIN chunk_cells USING (id) LEFT JOIN chunk_body USING (id) WHERE id > ? AND id < ? ORDER BY id LIMIT 1`,
    )
  }

  add([seq, sourceId, utcUs, monoUs, raw, value, marks]: LogRow): void {
    if (!this.#find) return
    const source = this.#file.numbering.sources[sourceId - 1]
    if (!source) throw new StoreError('damaged', said('chunk-without-source', { seq, sourceId }))
    let channel = this.#channels.get(source.channelNumber)
    if (!channel) {
      const number = source.channelNumber
      const sealed = this.#sealed!.get(number) as Channel['sealed'] | undefined
      if (!sealed) throw new StoreError('damaged', said('chunks-untold', { number }))
      channel = { number, tail: new Tail(), next: undefined, chunks: 0, sealed }
      channel.next = this.#after(channel, channel.number * 2 ** 31)
      this.#channels.set(channel.number, channel)
    }
    const { next, tail, sealed } = channel
    if (!next) {
      if (seq <= sealed.throughSeq) throw new StoreError('damaged', said('reading-in-no-chunk', { seq }))
      return
    }
    tail.add(seq, utcUs, monoUs, numberOf(raw, value), sourceId, marks)
    if (seq < next.lastSeq) return
    const hidden = havingMarks(tail.stretch, this.#file.numbering.hiddenBits)
    const found = summarise(tail.stretch, hidden)
    const { id, cells, body, ...summary } = next
    const same = (Object.keys(found) as (keyof ChunkSummary)[]).every((key) => found[key] === summary[key])
    const packed =
      same &&
      body !== null &&
      cells !== null &&
      packChunk(tail.stretch, found).equals(body) &&
      packCells(tail.stretch, found, hidden).equals(cells)
    if (!packed) throw new StoreError('damaged', this.#why(next))
    tail.dropTo(seq)
    channel.chunks++
    channel.next = this.#after(channel, id)
  }

  /** No chunk may speak of readings that are not there. */
  end(): void {
    if (!this.#find) return
    let accounted = 0
    for (const { number, next, chunks, sealed } of this.#channels.values()) {
      if (next) throw new StoreError('damaged', this.#why(next))
      if (chunks !== sealed.chunks)
        throw new StoreError(
          'damaged',
          said('chunks-of-another-number', { number, chunks, told: sealed.chunks }),
        )
      accounted += chunks
    }
    const one = (sql: string) => this.#file.database.prepare(sql).pluck().get()
    for (const table of ['chunk', 'chunk_cells', 'chunk_body'])
      if (one(`SELECT count(*) FROM ${table}`) !== accounted)
        throw new StoreError('damaged', said('rows-of-no-reading', { table }))
    if (one('SELECT count(*) FROM sealed') !== this.#channels.size)
      throw new StoreError('damaged', said('sealed-of-no-channel', {}))
  }

  #after({ number }: Channel, id: number): ChunkRow | undefined {
    return this.#find!.get(id, (number + 1) * 2 ** 31) as ChunkRow | undefined
  }

  #why({ id, firstSeq, lastSeq }: ChunkRow): Said {
    return said('chunk-says-otherwise', { id, firstSeq, lastSeq })
  }
}
