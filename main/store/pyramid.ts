import { openCells, packCells } from './cells.ts'
import { type ChunkSummary, type OpenChunk, openChunk, packChunk, summarise } from './chunk.ts'
import { isDamage } from './errors.ts'
import { Buckets, type Overview, overviewOfLog } from './overview.ts'
import { type Numbering, numberOf } from './rows.ts'
import type { Db } from './sqlite.ts'
import { Tail } from './tail.ts'

/** Readings of one channel that make a chunk. */
export const CHUNK_READINGS = 4096
/** A channel read seldom is sealed after this many readings of all, so that opening never scans further back. */
const OLDEST_UNSEALED = 1_000_000
/** Chunks of one channel: id = channel number * this + running number. */
const CHUNKS_PER_CHANNEL = 2 ** 31
const SCAN_PAGE = 200_000

interface Channel {
  readonly number: number
  readonly tail: Tail
  chunks: number
  sealedSeq: number
}

interface SummaryRow extends ChunkSummary {
  id: number
}

export interface OverviewQuery {
  channel: string
  fromUtcUs?: number | undefined
  toUtcUs?: number | undefined
  buckets: number
}

/**
 * Chunks of each channel and what is not in one yet. Written one channel at a time as each is full; derived from the
 * log alone, so it can be thrown away and built again.
 */
export class Pyramid {
  readonly #db: Db
  readonly #numbering: Numbering
  readonly #channels = new Map<number, Channel>()
  readonly #insert
  readonly #summaries
  readonly #body
  readonly #cells
  readonly #scan
  #seen = 0

  constructor(db: Db, numbering: Numbering, writable: boolean) {
    this.#db = db
    this.#numbering = numbering
    this.#insert = writable
      ? db.prepare('INSERT INTO chunk VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)')
      : undefined
    this.#summaries = db.prepare(
      `SELECT id, count, first_seq AS firstSeq, last_seq AS lastSeq, low_utc_us AS lowUtcUs, high_utc_us AS highUtcUs,
       numbers, low, high, total FROM chunk WHERE id BETWEEN ? AND ? ORDER BY id`,
    )
    this.#body = db.prepare('SELECT body FROM chunk WHERE id = ?').pluck()
    this.#cells = db.prepare('SELECT cells FROM chunk WHERE id = ?').pluck()
    this.#scan = db
      .prepare('SELECT seq, source, utc_us, raw, value FROM log WHERE seq > ? ORDER BY seq LIMIT ?')
      .raw()
  }

  /** Takes up what was sealed and logged since the last call: everything, at the first. */
  refresh(): void {
    const fresh: Channel[] = []
    for (const name of this.#numbering.channels()) {
      const number = this.#numbering.sourcesOf(name)[0]!.channelNumber
      const known = this.#channels.get(number)
      const channel = known ?? { number, tail: new Tail(), chunks: 0, sealedSeq: 0 }
      this.#channels.set(number, channel)
      for (const chunk of this.#chunksOf(channel, channel.chunks)) {
        channel.chunks++
        channel.sealedSeq = chunk.lastSeq
      }
      channel.tail.dropTo(channel.sealedSeq)
      if (!known) fresh.push(channel)
    }
    if (this.#seen === 0 && fresh.length > 0)
      this.#seen = fresh.reduce((low, { sealedSeq }) => Math.min(low, sealedSeq), Number.POSITIVE_INFINITY)
    for (;;) {
      const rows = this.#scan.all(this.#seen, SCAN_PAGE) as [number, number, number, string, string | null][]
      for (const [seq, source, utcUs, raw, value] of rows) {
        const channel = this.#channels.get(this.#numbering.sources[source - 1]?.channelNumber ?? 0)
        if (channel && seq > channel.sealedSeq) channel.tail.add(seq, utcUs, numberOf(raw, value))
      }
      if (rows.length > 0) this.#seen = rows.at(-1)![0]
      if (rows.length < SCAN_PAGE) return
    }
  }

  /** A reading that is now in the log. */
  add(channelNumber: number, seq: number, utcUs: number, value: number): void {
    let channel = this.#channels.get(channelNumber)
    if (!channel) {
      channel = { number: channelNumber, tail: new Tail(), chunks: 0, sealedSeq: 0 }
      this.#channels.set(channelNumber, channel)
    }
    channel.tail.add(seq, utcUs, value)
    this.#seen = seq
  }

  /** The channel whose turn it is to be sealed, if any: one at a time keeps every commit short. */
  due(except: readonly number[] = []): number | undefined {
    let found: Channel | undefined
    for (const channel of this.#channels.values()) {
      const { count, seq } = channel.tail.stretch
      if (count === 0 || (except.length > 0 && except.includes(channel.number))) continue
      if (count >= CHUNK_READINGS) {
        if (!found || count > found.tail.stretch.count) found = channel
      } else if (seq[0]! < this.#seen - OLDEST_UNSEALED) found ??= channel
    }
    return found?.number
  }

  unsealed(): number[] {
    return [...this.#channels.values()]
      .filter(({ tail }) => tail.stretch.count > 0)
      .map(({ number }) => number)
  }

  /** Stores a channel's tail as a chunk, inside the caller's transaction. `settle` once that is committed. */
  seal(channelNumber: number): { settle: () => void } {
    const channel = this.#channels.get(channelNumber)!
    const { stretch } = channel.tail
    const s = summarise(stretch)
    this.#insert!.run(
      channel.number * CHUNKS_PER_CHANNEL + channel.chunks + 1,
      s.count,
      s.firstSeq,
      s.lastSeq,
      s.lowUtcUs,
      s.highUtcUs,
      s.numbers,
      s.low,
      s.high,
      s.total,
      packCells(stretch, s),
      packChunk(stretch, s),
    )
    return {
      settle: () => {
        channel.chunks++
        channel.sealedSeq = s.lastSeq
        channel.tail.dropTo(s.lastSeq)
      },
    }
  }

  overview(query: OverviewQuery): Overview {
    const channel = this.#find(query.channel)
    if (!channel) return new Buckets(0, 0, 1).result()
    try {
      return this.#overviewOf(channel, query)
    } catch (fault) {
      if (!isDamage(fault) && !(fault instanceof RangeError)) throw fault
      return overviewOfLog(this.#db, this.#numbering, query)
    }
  }

  #overviewOf(channel: Channel, query: OverviewQuery): Overview {
    const chunks = this.#chunksOf(channel, 0)
    const { stretch } = channel.tail
    const tail = stretch.count > 0 ? summarise(stretch) : undefined
    const parts: ChunkSummary[] = tail ? [...chunks, tail] : chunks
    const low = parts.reduce((least, { lowUtcUs }) => Math.min(least, lowUtcUs), Number.POSITIVE_INFINITY)
    const high = parts.reduce((most, { highUtcUs }) => Math.max(most, highUtcUs), Number.NEGATIVE_INFINITY)
    const buckets = new Buckets(query.fromUtcUs ?? low, query.toUtcUs ?? high, query.buckets)
    for (const chunk of chunks) {
      if (!buckets.touches(chunk)) continue
      if (buckets.addWhole(chunk)) continue
      // Where the cells are narrow enough for the buckets, the readings themselves need not be read.
      if (buckets.covers(chunk) && buckets.takesCellsOf(chunk)) {
        buckets.addCells(openCells(this.#cells.get(chunk.id) as Uint8Array, chunk))
        continue
      }
      const { value, time, baseUtcUs, count } = this.#open(chunk.id)
      buckets.addColumns(value, time, baseUtcUs, count, buckets.covers(chunk))
    }
    if (tail && buckets.touches(tail) && !buckets.addWhole(tail))
      buckets.addColumns(stretch.value, stretch.utcUs, 0, stretch.count, buckets.covers(tail))
    return buckets.result()
  }

  /** seq numbers of a channel's readings in a stretch, in order, at most `most`. */
  seqs(
    name: string,
    {
      fromUtcUs = Number.NEGATIVE_INFINITY,
      toUtcUs = Number.POSITIVE_INFINITY,
      fromSeq = 0,
      toSeq = Number.POSITIVE_INFINITY,
      most,
    }: {
      fromUtcUs?: number | undefined
      toUtcUs?: number | undefined
      fromSeq?: number | undefined
      toSeq?: number | undefined
      most: number
    },
  ): number[] {
    const channel = this.#find(name)
    const found: number[] = []
    if (!channel) return found
    const take = (seq: number, utcUs: number) => {
      if (seq >= fromSeq && seq <= toSeq && utcUs >= fromUtcUs && utcUs <= toUtcUs && found.length < most)
        found.push(seq)
    }
    for (const chunk of this.#chunksOf(channel, 0)) {
      if (found.length >= most) return found
      if (chunk.lastSeq < fromSeq || chunk.firstSeq > toSeq) continue
      if (chunk.highUtcUs < fromUtcUs || chunk.lowUtcUs > toUtcUs) continue
      const { seqGap, time, baseUtcUs, count } = this.#open(chunk.id)
      let seq = chunk.firstSeq
      for (let i = 0; i < count; i++) {
        seq += seqGap[i]!
        take(seq, baseUtcUs + time[i]!)
      }
    }
    const { stretch } = channel.tail
    for (let i = 0; i < stretch.count && found.length < most; i++) take(stretch.seq[i]!, stretch.utcUs[i]!)
    return found
  }

  /** First and last time of a channel, or of all. */
  span(): { lowUtcUs: number; highUtcUs: number } | undefined {
    let low = Number.POSITIVE_INFINITY
    let high = Number.NEGATIVE_INFINITY
    for (const channel of this.#channels.values()) {
      const { stretch } = channel.tail
      const parts: ChunkSummary[] = this.#chunksOf(channel, 0)
      if (stretch.count > 0) parts.push(summarise(stretch))
      for (const { lowUtcUs, highUtcUs } of parts) {
        low = Math.min(low, lowUtcUs)
        high = Math.max(high, highUtcUs)
      }
    }
    return low <= high ? { lowUtcUs: low, highUtcUs: high } : undefined
  }

  #find(name: string): Channel | undefined {
    const number = this.#numbering.sourcesOf(name)[0]?.channelNumber
    return number === undefined ? undefined : this.#channels.get(number)
  }

  #chunksOf(channel: Channel, after: number): SummaryRow[] {
    const first = channel.number * CHUNKS_PER_CHANNEL
    return this.#summaries.all(first + after + 1, first + CHUNKS_PER_CHANNEL - 1) as SummaryRow[]
  }

  #open(id: number): OpenChunk {
    return openChunk(this.#body.get(id) as Uint8Array)
  }
}

/** Throws the chunks away and builds them from the log, inside the caller's transaction. */
export function rebuildChunks(db: Db, numbering: Numbering): Pyramid {
  db.exec('DELETE FROM chunk')
  const pyramid = new Pyramid(db, numbering, true)
  const scan = db
    .prepare('SELECT seq, source, utc_us, raw, value FROM log WHERE seq > ? ORDER BY seq LIMIT ?')
    .raw()
  let after = 0
  for (;;) {
    const rows = scan.all(after, SCAN_PAGE) as [number, number, number, string, string | null][]
    for (const [seq, source, utcUs, raw, value] of rows) {
      pyramid.add(numbering.sources[source - 1]!.channelNumber, seq, utcUs, numberOf(raw, value))
      const due = pyramid.due()
      if (due !== undefined) pyramid.seal(due).settle()
    }
    if (rows.length < SCAN_PAGE) return pyramid
    after = rows.at(-1)![0]
  }
}
