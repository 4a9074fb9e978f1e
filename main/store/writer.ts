import { said } from '../../app/messages/said.ts'
import { MARK_NAMES } from '../../app/records/mark.ts'
import type { Point } from '../../app/records/point.ts'
import { type NewReading, RawUnit } from '../../app/records/reading.ts'
import type { NewSessionEvent } from '../../app/records/session.ts'
import { type ChainBytes, sha256 } from './chain.ts'
import { asStoreError, StoreError } from './errors.ts'
import { CHUNK_READINGS, type Pyramid } from './pyramid.ts'
import { type Numbering, numberOf, SAME, type Source } from './rows.ts'
import { asStored, toEventRow } from './session-rows.ts'
import type { Db } from './sqlite.ts'

export interface CommitBatch {
  readings?: readonly NewReading[]
  events?: readonly NewSessionEvent[]
  points?: readonly Point[]
  /** State of the plan's runner, kept as the last one only; what it decided belongs into events. */
  runner?: unknown
}

export interface Committed {
  /** seq of the first and last reading of the batch; first is last + 1 where there was none. */
  firstSeq: number
  lastSeq: number
  /** n of the batch's first event, or the next one's where there was none. */
  firstEvent: number
}

export interface Ends {
  batch: number
  seq: number
  event: number
  point: number
  head: Buffer
}

/** Rows of one INSERT, the largest that fits taken first: fewer calls for the same rows. */
const ROWS_AT_ONCE = [48, 8, 1] as const
/** Parameters of a plain reading: its value is the raw text itself and it has no marks, as nearly all. */
const PLAIN_PARAMETERS = 4
const COLUMNS = 'source, utc_us, mono_us, raw, value, marks'

const rowsOf = (row: string, count: number) => Array.from({ length: count }, () => row).join(', ')

/**
 * Adds batches to a session: readings, events and points with the hash that chains them, in one transaction that is
 * on the disk when `commit` returns.
 */
export class BatchWriter {
  readonly #db: Db
  readonly #numbering: Numbering
  readonly #pyramid: Pyramid
  readonly #bytes: ChainBytes
  readonly #statements
  /** Plain readings that wait for their INSERT; empty between commits. */
  readonly #plain: (string | number)[] = []
  /** Sources of the last batch's readings: the next scan nearly always has the same. */
  #sources: readonly Source[] = []
  #ends: Ends

  constructor(db: Db, numbering: Numbering, pyramid: Pyramid, ends: Ends, bytes: ChainBytes) {
    this.#db = db
    this.#numbering = numbering
    this.#pyramid = pyramid
    this.#ends = ends
    this.#bytes = bytes
    this.#statements = {
      begin: db.prepare('BEGIN IMMEDIATE'),
      commit: db.prepare('COMMIT'),
      rollback: db.prepare('ROLLBACK'),
      plainRows: ROWS_AT_ONCE.map((count) => ({
        parameters: count * PLAIN_PARAMETERS,
        insert: db.prepare(
          `INSERT INTO log (${COLUMNS}) VALUES ${rowsOf(`(?, ?, ?, ?, '${SAME}', 0)`, count)}`,
        ),
      })),
      row: db.prepare(`INSERT INTO log (${COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)`),
      source: db.prepare('INSERT INTO source VALUES (?, ?, ?, ?)'),
      mark: db.prepare('INSERT INTO mark VALUES (?, ?)'),
      event: db.prepare('INSERT INTO event VALUES (?, ?, ?, ?, ?, ?, ?, ?)'),
      point: db.prepare('INSERT INTO point VALUES (?, ?)'),
      batch: db.prepare('INSERT INTO batch VALUES (?, ?, ?, ?, ?, ?, ?)'),
      working: db.prepare('INSERT OR REPLACE INTO working VALUES (?, ?, ?)'),
    }
  }

  get ends(): Readonly<Ends> {
    return this.#ends
  }

  commit(batch: CommitBatch): Committed {
    const { readings = [], events = [], points = [], runner } = batch
    const before = this.#ends
    const ends: Ends = {
      batch: before.batch + 1,
      seq: before.seq + readings.length,
      event: before.event + events.length,
      point: before.point + points.length,
      head: before.head,
    }
    const committed = { firstSeq: before.seq + 1, lastSeq: ends.seq, firstEvent: before.event + 1 }
    const adds = readings.length + events.length + points.length > 0
    if (!adds && runner === undefined) return committed
    const numbered = this.#numbering.sizes
    const s = this.#statements
    let sources: readonly Source[] = []
    const sealed: { settle: () => void }[] = []
    try {
      s.begin.run()
      if (adds) {
        const bytes = this.#bytes
        bytes.start(before.head, ends.batch)
        this.#addMarks()
        sources = this.#addSources(readings, before.seq)
        this.#addReadings(readings, sources, before.seq)
        for (const [i, event] of events.entries()) {
          const row = toEventRow(before.event + 1 + i, event)
          s.event.run(...row)
          bytes.row('event', row)
        }
        for (const [i, point] of points.entries()) {
          const row = [before.point + 1 + i, JSON.stringify(point)]
          s.point.run(...row)
          bytes.row('point', row)
        }
        ends.head = bytes.digest()
        const { sources: allSources, marks } = this.#numbering
        s.batch.run(ends.batch, ends.seq, ends.event, ends.point, allSources.length, marks.length, ends.head)
        this.#sealDue(sealed, 1 + Math.floor(readings.length / CHUNK_READINGS))
      }
      if (runner !== undefined) {
        const text = JSON.stringify(runner)
        s.working.run('runner', text, sha256(Buffer.from(text, 'utf8')))
      }
      s.commit.run()
      if (!adds) return committed
      this.#ends = ends
      this.#sources = sources
      for (const { settle } of sealed) settle()
      this.#follow(readings, sources, before.seq)
      return committed
    } catch (fault) {
      if (this.#db.inTransaction) s.rollback.run()
      this.#numbering.dropTo(numbered)
      this.#plain.length = 0
      throw asStoreError(fault, this.#db.name)
    }
  }

  /** Seals what is left, when a session ends. */
  sealAll(): void {
    const s = this.#statements
    try {
      s.begin.run()
      const sealed = this.#pyramid.unsealed().map((number) => this.#pyramid.seal(number))
      s.commit.run()
      for (const { settle } of sealed) settle()
    } catch (fault) {
      if (this.#db.inTransaction) s.rollback.run()
      throw asStoreError(fault, this.#db.name)
    }
  }

  /** One chunk with a commit, more only where commits are so large that one could not keep up. */
  #sealDue(sealed: { settle: () => void }[], most: number): void {
    const done: number[] = []
    while (done.length < most) {
      const due = this.#pyramid.due(done)
      if (due === undefined) return
      sealed.push(this.#pyramid.seal(due))
      done.push(due)
    }
  }

  /** Marks of a newer program come into an older file with the first batch that it writes. */
  #addMarks(): void {
    if (this.#numbering.marks.length >= MARK_NAMES.length) return
    for (const { bit, name } of this.#numbering.missingMarks()) {
      this.#statements.mark.run(bit, name)
      this.#bytes.row('mark', [bit, name])
      this.#numbering.addMark(bit, name)
    }
  }

  #addSources(readings: readonly NewReading[], before: number): Source[] {
    return readings.map(({ channel, unit, currentMa }, i) => {
      const like = this.#sources[i]
      if (like && like.channel === channel && like.unit === unit && like.currentMa === currentMa) return like
      const known = this.#numbering.find(channel, unit, currentMa)
      if (known) return known
      if (asStored(channel) !== channel)
        throw new StoreError('refused', said('channel-id-not-text', { channel: JSON.stringify(channel) }), {
          channel,
        })
      const source = this.#numbering.addSource(channel, RawUnit.parse(unit), currentMa)
      this.#statements.source.run(source.id, channel, unit, currentMa)
      if (source.channelNumber === source.id) this.#pyramid.begin(source.id, before)
      this.#bytes.row('source', [source.id, channel, unit, currentMa])
      return source
    })
  }

  #addReadings(readings: readonly NewReading[], sources: readonly Source[], before: number): void {
    const { row } = this.#statements
    const bytes = this.#bytes
    const plain = this.#plain
    let last: number | bigint = before
    for (let i = 0; i < readings.length; i++) {
      const { utcUs, monoUs, raw, value, marks } = readings[i]!
      const source = sources[i]!.id
      const bits = marks.length === 0 ? 0 : this.#numbering.bits(marks)
      const stored = value === raw ? SAME : value
      bytes.reading(before + 1 + i, utcUs, monoUs, source, bits, raw, stored)
      if (stored === SAME && bits === 0) plain.push(source, utcUs, monoUs, raw)
      else {
        last = this.#addPlain(plain, last)
        last = row.run(source, utcUs, monoUs, raw, stored, bits).lastInsertRowid
      }
    }
    last = this.#addPlain(plain, last)
    if (last !== before + readings.length)
      throw new StoreError('damaged', said('log-end-not-chain-end', { db: this.#db.name }), {
        last,
        expected: before + readings.length,
      })
  }

  /** Stores waiting plain readings and empties the list; returns the last row's seq. */
  #addPlain(plain: (string | number)[], before: number | bigint): number | bigint {
    let last = before
    let at = 0
    // One argument for each parameter costs less to bind than a list of them.
    for (const { parameters, insert } of this.#statements.plainRows)
      for (; plain.length - at >= parameters; at += parameters)
        last = insert.run(...plain.slice(at, at + parameters)).lastInsertRowid
    plain.length = 0
    return last
  }

  /** What is committed is taken up by the chunks in memory. */
  #follow(readings: readonly NewReading[], sources: readonly Source[], before: number): void {
    for (let i = 0; i < readings.length; i++) {
      const { utcUs, monoUs, raw, value, marks } = readings[i]!
      const bits = marks.length === 0 ? 0 : this.#numbering.bits(marks)
      this.#pyramid.add(sources[i]!, before + 1 + i, utcUs, monoUs, numberOf(raw, value), bits)
    }
  }
}
