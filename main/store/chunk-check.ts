import { packCells } from './cells.ts'
import { type ChunkSummary, packChunk, summarise } from './chunk.ts'
import { StoreError } from './errors.ts'
import { type LogRow, numberOf } from './rows.ts'
import type { SessionFile } from './session-file.ts'
import { Tail } from './tail.ts'

interface ChunkRow extends ChunkSummary {
  id: number
  cells: Buffer
  body: Buffer
}

interface Channel {
  number: number
  tail: Tail
  next: ChunkRow | undefined
}

/** Follows the log row by row and holds each chunk against what the log says. */
export class ChunkCheck {
  readonly #file: SessionFile
  readonly #channels = new Map<number, Channel>()
  readonly #find
  #seen = 0

  constructor(file: SessionFile) {
    this.#file = file
    if (file.version >= 2)
      this.#find = file.database.prepare(
        `SELECT id, count, first_seq AS firstSeq, last_seq AS lastSeq, low_utc_us AS lowUtcUs,
         high_utc_us AS highUtcUs, numbers, low, high, total, cells, body FROM chunk WHERE id > ? AND id < ? ORDER BY id LIMIT 1`,
      )
  }

  add([seq, sourceId, utcUs, , raw, value]: LogRow): void {
    if (!this.#find) return
    const source = this.#file.numbering.sources[sourceId - 1]
    if (!source) throw new StoreError('damaged', `Reading ${seq} names source ${sourceId}, which is missing`)
    let channel = this.#channels.get(source.channelNumber)
    if (!channel) {
      channel = { number: source.channelNumber, tail: new Tail(), next: undefined }
      channel.next = this.#after(channel, channel.number * 2 ** 31)
      this.#channels.set(channel.number, channel)
    }
    const { next, tail } = channel
    if (!next) return
    tail.add(seq, utcUs, numberOf(raw, value))
    if (seq < next.lastSeq) return
    const found = summarise(tail.stretch)
    const { id, cells, body, ...summary } = next
    const same = (Object.keys(found) as (keyof ChunkSummary)[]).every((key) => found[key] === summary[key])
    const packed =
      same && packChunk(tail.stretch, found).equals(body) && packCells(tail.stretch, found).equals(cells)
    if (!packed) throw new StoreError('damaged', this.#words(next))
    tail.stretch.count = 0
    this.#seen++
    channel.next = this.#after(channel, id)
  }

  /** No chunk may speak of readings that are not there. */
  end(): void {
    if (!this.#find) return
    for (const { next } of this.#channels.values())
      if (next) throw new StoreError('damaged', this.#words(next))
    const stored = this.#file.database.prepare('SELECT count(*) FROM chunk').pluck().get()
    if (stored !== this.#seen)
      throw new StoreError(
        'damaged',
        `there are ${String(stored)} chunks and the log accounts for ${this.#seen}`,
      )
  }

  #after({ number }: Channel, id: number): ChunkRow | undefined {
    return this.#find!.get(id, (number + 1) * 2 ** 31) as ChunkRow | undefined
  }

  #words({ id, firstSeq, lastSeq }: ChunkRow): string {
    return `chunk ${id} (readings ${firstSeq} to ${lastSeq} of one channel, kept for overviews) does not say what the log says`
  }
}
