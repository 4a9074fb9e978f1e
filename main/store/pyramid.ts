import { type AddRow, RowWriter } from './batch-rows.ts'
import { openCells, packCells } from './cells.ts'
import { type ChunkSummary, emptyStretch, havingMarks, type Stretch, summarise } from './chunk.ts'
import { markedIn, type OpenChunk, openChunk, packChunk } from './chunk-body.ts'
import { Buckets, type Overview } from './overview.ts'
import { ChunkCursor } from './reading-pages.ts'
import { LOG_COLUMNS, type LogRow, type Numbering, numberOf, type Source } from './rows.ts'
import type { Db } from './sqlite.ts'
import { Tail } from './tail.ts'

/** Readings of one channel that make a chunk; a little over an hour at one a second, in fewer than 128 cells of 32 s. */
export const CHUNK_READINGS = 3840
/** A channel read seldom is sealed after this many readings of all, so that opening never scans further back. */
const OLDEST_UNSEALED = 1_000_000
/** Readings of all between two looks for such a channel. */
const LOOK_FOR_OLD_EVERY = 10_000
/** Chunks of one channel: id = channel number * this + running number. */
const CHUNKS_PER_CHANNEL = 2 ** 31
const SCAN_PAGE = 200_000
/** Chunks kept open, 60 kB each: whoever looks at the last hour looks at it again. */
const KEPT_OPEN = 32
/** Moments beyond any that a reading can have, us. */
const [BEFORE_ALL, AFTER_ALL] = [Number.MIN_SAFE_INTEGER, Number.MAX_SAFE_INTEGER]
const SCAN = `SELECT ${LOG_COLUMNS} FROM log WHERE seq > ? ORDER BY seq LIMIT ?`

interface Channel {
  readonly number: number
  readonly tail: Tail
  chunks: number
  /** Every reading of the channel up to this seq lies in a chunk. */
  throughSeq: number
}

interface SummaryRow extends ChunkSummary {
  id: number
}

/** A stretch of a channel; without bounds, all of it. */
export interface ColumnsQuery {
  channel: string
  fromUtcUs?: number | undefined
  toUtcUs?: number | undefined
  fromSeq?: number | undefined
  toSeq?: number | undefined
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
  readonly #numbering: Numbering
  readonly #channels = new Map<number, Channel>()
  readonly #select
  #seen = 0
  /** Channels with enough for a chunk. */
  readonly #full = new Set<Channel>()
  #lookForOldAt = 0
  #columns = emptyStretch(2 * CHUNK_READINGS)
  /** Chunks that pictures have opened, the one that was wanted longest ago first. */
  readonly #kept = new Map<number, OpenChunk>()

  constructor(db: Db, numbering: Numbering) {
    this.#numbering = numbering
    this.#select = {
      chunks: db.prepare(
        `SELECT id, count, first_seq AS firstSeq, last_seq AS lastSeq, low_utc_us AS lowUtcUs, high_utc_us AS highUtcUs,
         numbers, low, high, total FROM chunk WHERE id BETWEEN ? AND ? AND high_utc_us >= ? AND low_utc_us <= ? ORDER BY id`,
      ),
      cells: db.prepare('SELECT id, cells FROM chunk_cells WHERE id BETWEEN ? AND ?').raw(),
      body: db.prepare('SELECT body FROM chunk_body WHERE id = ?').pluck(),
      sealed: db.prepare('SELECT channel, chunks, through_seq FROM sealed').raw(),
      log: db.prepare(SCAN).raw(),
    }
  }

  /** Takes up what was sealed and logged since the last call: everything, at the first. */
  refresh(): void {
    for (const [number, chunks, throughSeq] of this.#select.sealed.all() as [number, number, number][]) {
      const channel = this.#channel(number, throughSeq)
      channel.chunks = chunks
      channel.throughSeq = throughSeq
      channel.tail.dropTo(throughSeq)
    }
    if (this.#seen === 0 && this.#channels.size > 0)
      this.#seen = [...this.#channels.values()].reduce(
        (low, c) => Math.min(low, c.throughSeq),
        Number.POSITIVE_INFINITY,
      )
    for (;;) {
      const rows = this.#select.log.all(this.#seen, SCAN_PAGE) as LogRow[]
      for (const [seq, source, utcUs, monoUs, raw, value, marks] of rows) {
        const channel = this.#channels.get(this.#numbering.sources[source - 1]?.channelNumber ?? 0)
        if (channel && seq > channel.throughSeq)
          channel.tail.add(seq, utcUs, monoUs, numberOf(raw, value), source, marks)
      }
      if (rows.length > 0) this.#seen = rows.at(-1)![0]
      if (rows.length < SCAN_PAGE) break
    }
    for (const channel of this.#channels.values()) this.#noteFull(channel)
  }

  /** A channel whose first reading comes after `seq`, inside the transaction that stores it. */
  begin(channelNumber: number, seq: number, add: AddRow): void {
    add('sealed', [channelNumber, 0, seq])
  }

  /** A reading that is now in the log. */
  add(source: Source, seq: number, utcUs: number, monoUs: number, value: number, marks: number): void {
    const channel = this.#channel(source.channelNumber, seq - 1)
    channel.tail.add(seq, utcUs, monoUs, value, source.id, marks)
    if (channel.tail.count === CHUNK_READINGS) this.#full.add(channel)
    this.#seen = seq
  }

  #noteFull(channel: Channel): void {
    if (channel.tail.count >= CHUNK_READINGS) this.#full.add(channel)
    else this.#full.delete(channel)
  }

  /** The channel whose turn it is to be sealed, if any: one at a time keeps every commit short. */
  due(except: readonly number[] = []): number | undefined {
    let found: Channel | undefined
    for (const channel of this.#full)
      if (!except.includes(channel.number) && !(found && found.tail.count >= channel.tail.count))
        found = channel
    if (found || this.#seen < this.#lookForOldAt) return found?.number
    const oldest = this.#seen - OLDEST_UNSEALED
    for (const channel of this.#channels.values())
      if (channel.throughSeq < oldest && !except.includes(channel.number)) return channel.number
    this.#lookForOldAt = this.#seen + LOOK_FOR_OLD_EVERY
    return undefined
  }

  /** Channels that are not sealed up to the end of the log. */
  unsealed(): number[] {
    return [...this.#channels.values()].filter((c) => c.throughSeq < this.#seen).map(({ number }) => number)
  }

  /** Stores a channel's tail as a chunk, inside the caller's transaction. `settle` once that is committed. */
  seal(channelNumber: number, add: AddRow): { settle: () => void } {
    const channel = this.#channels.get(channelNumber)!
    const stretch = this.#columnsOf(channel.tail)
    const throughSeq = this.#seen
    const chunks = channel.chunks + (stretch.count > 0 ? 1 : 0)
    if (stretch.count > 0) {
      const hidden = havingMarks(stretch, this.#numbering.hiddenBits)
      const s = summarise(stretch, hidden)
      const id = channel.number * CHUNKS_PER_CHANNEL + chunks
      const { count, firstSeq, lastSeq, lowUtcUs, highUtcUs, numbers, low, high, total } = s
      add('chunk', [id, count, firstSeq, lastSeq, lowUtcUs, highUtcUs, numbers, low, high, total])
      add('cells', [id, packCells(stretch, s, hidden)])
      add('body', [id, packChunk(stretch, s)])
    }
    add('sealed', [channel.number, chunks, throughSeq])
    return {
      settle: () => {
        channel.chunks = chunks
        channel.throughSeq = throughSeq
        channel.tail.dropTo(throughSeq)
        this.#noteFull(channel)
      },
    }
  }

  /** Of a tail that is about to be packed: always into the same columns. */
  #columnsOf(tail: Tail): Stretch {
    if (this.#columns.seq.length < tail.count) this.#columns = emptyStretch(2 * tail.count)
    return tail.copyTo(this.#columns)
  }

  overview(query: OverviewQuery): Overview {
    const channel = this.#find(query.channel)
    if (!channel) return new Buckets(0, 0, 1).result()
    // Of a stretch that is bounded nothing else is looked at, however long the session is.
    const bounded = query.fromUtcUs !== undefined && query.toUtcUs !== undefined
    const chunks = bounded ? this.#chunksOf(channel, query.fromUtcUs, query.toUtcUs) : this.#chunksOf(channel)
    const { stretch } = channel.tail
    const { hiddenBits } = this.#numbering
    const hidden = havingMarks(stretch, hiddenBits)
    const tail = stretch.count > 0 ? summarise(stretch, hidden) : undefined
    const parts: ChunkSummary[] = tail ? [...chunks, tail] : chunks
    const low = parts.reduce((least, { lowUtcUs }) => Math.min(least, lowUtcUs), Number.POSITIVE_INFINITY)
    const high = parts.reduce((most, { highUtcUs }) => Math.max(most, highUtcUs), Number.NEGATIVE_INFINITY)
    const buckets = new Buckets(query.fromUtcUs ?? low, query.toUtcUs ?? high, query.buckets)
    const byCells: SummaryRow[] = []
    for (const chunk of chunks) {
      if (!buckets.touches(chunk) || buckets.addWhole(chunk)) continue
      // Where the cells are narrow enough for the buckets, the readings themselves need not be read.
      if (buckets.covers(chunk) && buckets.takesCellsOf(chunk)) byCells.push(chunk)
      else {
        const open = this.#keepOpen(chunk.id)
        const { value, time, baseUtcUs, count } = open
        buckets.addColumns(value, time, baseUtcUs, count, buckets.covers(chunk), markedIn(open, hiddenBits))
      }
    }
    this.#addCells(buckets, byCells)
    if (tail && buckets.touches(tail) && !buckets.addWhole(tail))
      buckets.addColumns(stretch.value, stretch.utcUs, 0, stretch.count, buckets.covers(tail), hidden)
    return buckets.result()
  }

  /** seq of a channel's last reading, 0 where it has none. */
  lastSeqOf(name: string): number {
    const channel = this.#find(name)
    if (!channel) return 0
    return channel.tail.lastSeq || (this.#chunksOf(channel).at(-1)?.lastSeq ?? 0)
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
    for (const chunk of this.#chunksOf(channel)) {
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

  /** Every reading of a channel in a stretch, as columns. `goOn` is called for each chunk and may throw to give up. */
  columns(
    {
      channel: name,
      fromUtcUs = Number.NEGATIVE_INFINITY,
      toUtcUs = Number.POSITIVE_INFINITY,
      fromSeq = 0,
      toSeq = Number.POSITIVE_INFINITY,
    }: ColumnsQuery,
    goOn: () => void,
  ): Stretch {
    const found = new Tail()
    const channel = this.#find(name)
    if (!channel) return found.stretch
    const wanted = (seq: number, utcUs: number) =>
      seq >= fromSeq && seq <= toSeq && utcUs >= fromUtcUs && utcUs <= toUtcUs
    for (const chunk of this.#chunksOf(channel)) {
      if (chunk.lastSeq < fromSeq || chunk.firstSeq > toSeq) continue
      if (chunk.highUtcUs < fromUtcUs || chunk.lowUtcUs > toUtcUs) continue
      goOn()
      const { count, baseUtcUs, value, time, leadUs, mono, seqGap, kinds, kind } = this.#open(chunk.id)
      let seq = chunk.firstSeq
      for (let i = 0; i < count; i++) {
        seq += seqGap[i]!
        const utcUs = baseUtcUs + time[i]!
        if (!wanted(seq, utcUs)) continue
        const k = kind === undefined ? 0 : 2 * kind[i]!
        const monoUs = utcUs + leadUs + (mono === undefined ? 0 : mono[i]!)
        found.add(seq, utcUs, monoUs, value[i]!, kinds[k]!, kinds[k + 1]!)
      }
    }
    const { count, seq, utcUs, monoUs, value, source, marks } = channel.tail.stretch
    for (let i = 0; i < count; i++) {
      if (wanted(seq[i]!, utcUs[i]!))
        found.add(seq[i]!, utcUs[i]!, monoUs[i]!, value[i]!, source[i]!, marks[i]!)
    }
    return found.stretch
  }

  /** Every reading up to this seq lies in a chunk. */
  get sealedThrough(): number {
    let through = this.#channels.size === 0 ? 0 : Number.POSITIVE_INFINITY
    for (const channel of this.#channels.values()) through = Math.min(through, channel.throughSeq)
    return through
  }

  /** A cursor for each channel, at its first chunk that goes beyond `afterSeq`. */
  cursors(afterSeq: number): ChunkCursor[] {
    return [...this.#channels.values()].map((channel) => {
      const chunks = this.#chunksOf(channel).filter(({ lastSeq }) => lastSeq > afterSeq)
      return new ChunkCursor(chunks, (id) => this.#open(id))
    })
  }

  /** In one query: the chunks of a channel lie side by side. */
  #addCells(buckets: Buckets, chunks: readonly SummaryRow[]): void {
    const last = chunks.at(-1)
    if (!last) return
    const rows = new Map(this.#select.cells.all(chunks[0]!.id, last.id) as [number, Uint8Array][])
    for (const chunk of chunks) {
      const cells = rows.get(chunk.id)
      if (!cells) throw new RangeError('chunk has no cells')
      buckets.addCells(openCells(cells, chunk))
    }
  }

  #find(name: string): Channel | undefined {
    const number = this.#numbering.sourcesOf(name)[0]?.channelNumber
    return number === undefined ? undefined : this.#channels.get(number)
  }

  #channel(number: number, throughSeq: number): Channel {
    let channel = this.#channels.get(number)
    if (!channel) {
      channel = { number, tail: new Tail(), chunks: 0, throughSeq }
      this.#channels.set(number, channel)
    }
    return channel
  }

  /** Summaries of a channel's chunks that reach into a stretch of time, in order. */
  #chunksOf({ number, chunks }: Channel, fromUtcUs = BEFORE_ALL, toUtcUs = AFTER_ALL): SummaryRow[] {
    const first = number * CHUNKS_PER_CHANNEL
    return this.#select.chunks.all(first + 1, first + chunks, fromUtcUs, toUtcUs) as SummaryRow[]
  }

  /** What is sealed stays as it is. */
  #keepOpen(id: number): OpenChunk {
    const open = this.#kept.get(id) ?? this.#open(id)
    this.#kept.delete(id)
    this.#kept.set(id, open)
    if (this.#kept.size > KEPT_OPEN) this.#kept.delete(this.#kept.keys().next().value!)
    return open
  }

  #open(id: number): OpenChunk {
    const body = this.#select.body.get(id) as Uint8Array | undefined
    if (!body) throw new RangeError('chunk has no body')
    return openChunk(body)
  }
}

/** Throws the chunks away and builds them from the log, inside the caller's transaction. */
export function rebuildChunks(db: Db, numbering: Numbering): void {
  for (const table of ['chunk', 'chunk_cells', 'chunk_body', 'sealed']) db.exec(`DELETE FROM ${table}`)
  const pyramid = new Pyramid(db, numbering)
  const { add } = new RowWriter(db)
  const begun = new Set<number>()
  const scan = db.prepare(SCAN).raw()
  let after = 0
  for (;;) {
    const rows = scan.all(after, SCAN_PAGE) as LogRow[]
    for (const [seq, sourceId, utcUs, monoUs, raw, value, marks] of rows) {
      const source = numbering.sources[sourceId - 1]!
      const { channelNumber } = source
      if (!begun.has(channelNumber)) {
        begun.add(channelNumber)
        pyramid.begin(channelNumber, seq - 1, add)
      }
      pyramid.add(source, seq, utcUs, monoUs, numberOf(raw, value), marks)
      const due = pyramid.due()
      if (due !== undefined) pyramid.seal(due, add).settle()
    }
    if (rows.length < SCAN_PAGE) return
    after = rows.at(-1)![0]
  }
}
