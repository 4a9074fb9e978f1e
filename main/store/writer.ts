import { said } from '../../app/messages/said.ts'
import { MARK_NAMES } from '../../app/records/mark.ts'
import type { Point } from '../../app/records/point.ts'
import { type NewReading, RawUnit } from '../../app/records/reading.ts'
import type { NewSessionEvent } from '../../app/records/session.ts'
import { type AddRow, PLAIN_AT_ONCE, PLAIN_PARAMETERS, type RowKind, RowWriter, SAME } from './batch-rows.ts'
import { type ChainBytes, sha256 } from './chain.ts'
import { asStoreError, StoreError } from './errors.ts'
import { CHUNK_READINGS, type Pyramid } from './pyramid.ts'
import { type Numbering, numberOf, type Source } from './rows.ts'
import { type Ends, lastBatch } from './session-head.ts'
import { asStored, toEventRow } from './session-rows.ts'
import type { Db } from './sqlite.ts'
import { type Answered, WriteThread } from './write-thread.ts'

type Numbered = Numbering['sizes']

/** Pages of the write-ahead log after which they are copied into the file: SQLite's own default. */
const CHECKPOINT_PAGES = 1000

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

/** What became of a batch that was handed over. */
export type Outcome = { readonly committed: Committed } | { readonly fault: unknown }

/** A batch whose rows are told, and what follows from its being stored or not. */
interface Composed {
  readonly ends: Ends
  readonly committed: Committed
  /** seq that the last reading must get; null where there is none. */
  readonly lastSeq: number | null
  readonly stored: () => void
}

const isEmpty = ({ readings = [], events = [], points = [], runner }: CommitBatch) =>
  readings.length + events.length + points.length === 0 && runner === undefined

/**
 * Adds batches to a session: readings, events and points with the hash that chains them, each in one transaction. `commit` returns
 * when it is on the disk; `hand` leaves the waiting to a thread and tells the outcome. One batch is on its way at a time.
 */
export class BatchWriter {
  readonly #db: Db
  readonly #numbering: Numbering
  readonly #pyramid: Pyramid
  readonly #bytes: ChainBytes
  readonly #here: RowWriter
  /** Plain readings that wait for their INSERT; empty between batches. */
  readonly #plain: (string | number)[] = []
  /** Sources of the last batch's readings: the next scan nearly always has the same. */
  #sources: readonly Source[] = []
  #ends: Ends
  #thread: WriteThread | undefined
  #handed: { composed: Composed; numbered: Numbered; told: (outcome: Outcome) => void } | undefined

  constructor(db: Db, numbering: Numbering, pyramid: Pyramid, ends: Ends, bytes: ChainBytes) {
    this.#db = db
    this.#numbering = numbering
    this.#pyramid = pyramid
    this.#ends = ends
    this.#bytes = bytes
    this.#here = new RowWriter(db)
  }

  get ends(): Readonly<Ends> {
    return this.#ends
  }

  /** From when the promise resolves on, batches that are handed over wait for the disk in a thread. */
  beginThread(): Promise<void> {
    // What is copied from the log into the file is copied there as well.
    this.#db.pragma('wal_autocheckpoint = 0')
    if (!this.#thread) {
      const thread: WriteThread = new WriteThread(
        this.#db.name,
        (answer) => this.#answered(answer),
        () => this.#lost(thread),
      )
      this.#thread = thread
    }
    return this.#thread.begun
  }

  /** Everything is written here again; resolves when the thread has let go of the file. */
  async endThread(): Promise<void> {
    if (!this.#thread) return
    this.settle()
    const thread = this.#thread
    this.#withoutThread()
    await thread.close()
  }

  /** There is a thread that can be given a batch. */
  get hasThread(): boolean {
    return this.#thread?.ready === true
  }

  /** Has a batch stored by the thread; `told` hears the outcome. */
  hand(batch: CommitBatch, told: (outcome: Outcome) => void): void {
    this.settle()
    const thread = this.#thread!
    const numbered = this.#numbering.sizes
    const rows: [RowKind, readonly unknown[]][] = []
    try {
      const composed = this.#compose(batch, (kind, row) => rows.push([kind, row]))
      thread.hand({ rows, lastSeq: composed.lastSeq })
      this.#handed = { composed, numbered, told }
    } catch (fault) {
      this.#drop(numbered)
      told({ fault: asStoreError(fault, this.#db.name) })
    }
  }

  /** Waits for the batch that is on its way. Throws StoreError 'input-output' where the disk does not answer; it is then still on its way. */
  settle(): void {
    const thread = this.#thread
    if (!this.#handed || !thread) return
    const answer = thread.wait()
    if (answer === 'ended') this.#lost(thread)
    else this.#answered(answer)
  }

  /** Stores a batch whole or not at all; what was handed over before it comes first. */
  commit(batch: CommitBatch): Committed {
    this.settle()
    const { seq, event } = this.#ends
    if (isEmpty(batch)) return { firstSeq: seq + 1, lastSeq: seq, firstEvent: event + 1 }
    const numbered = this.#numbering.sizes
    try {
      this.#here.begin()
      const { committed, lastSeq, stored } = this.#compose(batch, this.#here.add)
      if (!this.#here.commit(lastSeq)) throw this.#displaced()
      stored()
      return committed
    } catch (fault) {
      this.#drop(numbered)
      this.#here.rollback()
      throw asStoreError(fault, this.#db.name)
    }
  }

  /** Seals what is left, when a session ends. */
  sealAll(): void {
    this.settle()
    try {
      this.#here.begin()
      const sealed = this.#pyramid.unsealed().map((number) => this.#pyramid.seal(number, this.#here.add))
      this.#here.commit(null)
      for (const { settle } of sealed) settle()
    } catch (fault) {
      this.#here.rollback()
      throw asStoreError(fault, this.#db.name)
    }
  }

  #answered(answer: Answered): void {
    const handed = this.#handed
    if (!handed) return
    this.#handed = undefined
    const { composed, numbered, told } = handed
    if (answer === 'stored') {
      composed.stored()
      told({ committed: composed.committed })
      return
    }
    this.#drop(numbered)
    const fault =
      answer === 'displaced' ? this.#displaced() : Object.assign(new Error(answer.message), answer)
    told({ fault: asStoreError(fault, this.#db.name) })
  }

  /** The thread has ended by itself: whether its batch is in the file, the file says. */
  #lost(thread: WriteThread): void {
    if (this.#thread !== thread) return
    this.#withoutThread()
    const handed = this.#handed
    if (!handed) return
    const last = lastBatch(this.#db)
    const stored = last?.batch === handed.composed.ends.batch && handed.composed.ends.head.equals(last.head)
    this.#answered(stored ? 'stored' : { code: 'EIO', message: 'the thread that writes has ended by itself' })
  }

  #displaced(): StoreError {
    return new StoreError('damaged', said('log-end-not-chain-end', { db: this.#db.name }))
  }

  #withoutThread(): void {
    this.#thread = undefined
    this.#db.pragma(`wal_autocheckpoint = ${CHECKPOINT_PAGES}`)
  }

  #drop(numbered: Numbered): void {
    this.#numbering.dropTo(numbered)
    this.#plain.length = 0
  }

  #compose(batch: CommitBatch, add: AddRow): Composed {
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
    let sources: readonly Source[] = []
    const sealed: { settle: () => void }[] = []
    if (adds) {
      const bytes = this.#bytes
      bytes.start(before.head, ends.batch)
      this.#addMarks(add)
      sources = this.#addSources(readings, before.seq, add)
      this.#addReadings(readings, sources, before.seq, add)
      for (const [i, event] of events.entries()) {
        const row = toEventRow(before.event + 1 + i, event)
        add('event', row)
        bytes.row('event', row)
      }
      for (const [i, point] of points.entries()) {
        const row = [before.point + 1 + i, JSON.stringify(point)]
        add('point', row)
        bytes.row('point', row)
      }
      ends.head = bytes.digest()
      const { sources: allSources, marks } = this.#numbering
      add('batch', [
        ...[ends.batch, ends.seq, ends.event, ends.point],
        ...[allSources.length, marks.length, ends.head],
      ])
      this.#sealDue(sealed, 1 + Math.floor(readings.length / CHUNK_READINGS), add)
    }
    if (runner !== undefined) {
      const text = JSON.stringify(runner)
      add('working', ['runner', text, sha256(Buffer.from(text, 'utf8'))])
    }
    const stored = () => {
      if (!adds) return
      this.#ends = ends
      this.#sources = sources
      for (const { settle } of sealed) settle()
      this.#follow(readings, sources, before.seq)
    }
    return { ends, committed, lastSeq: readings.length > 0 ? ends.seq : null, stored }
  }

  /** One chunk with a commit, more only where commits are so large that one could not keep up. */
  #sealDue(sealed: { settle: () => void }[], most: number, add: AddRow): void {
    const done: number[] = []
    while (done.length < most) {
      const due = this.#pyramid.due(done)
      if (due === undefined) return
      sealed.push(this.#pyramid.seal(due, add))
      done.push(due)
    }
  }

  /** Marks of a newer program come into an older file with the first batch that it writes. */
  #addMarks(add: AddRow): void {
    if (this.#numbering.marks.length >= MARK_NAMES.length) return
    for (const { bit, name } of this.#numbering.missingMarks()) {
      add('mark', [bit, name])
      this.#bytes.row('mark', [bit, name])
      this.#numbering.addMark(bit, name)
    }
  }

  #addSources(readings: readonly NewReading[], before: number, add: AddRow): Source[] {
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
      add('source', [source.id, channel, unit, currentMa])
      if (source.channelNumber === source.id) this.#pyramid.begin(source.id, before, add)
      this.#bytes.row('source', [source.id, channel, unit, currentMa])
      return source
    })
  }

  #addReadings(
    readings: readonly NewReading[],
    sources: readonly Source[],
    before: number,
    add: AddRow,
  ): void {
    const bytes = this.#bytes
    const plain = this.#plain
    for (let i = 0; i < readings.length; i++) {
      const { utcUs, monoUs, raw, value, marks } = readings[i]!
      const source = sources[i]!.id
      const bits = marks.length === 0 ? 0 : this.#numbering.bits(marks)
      const stored = value === raw ? SAME : value
      bytes.reading(before + 1 + i, utcUs, monoUs, source, bits, raw, stored)
      if (stored === SAME && bits === 0) plain.push(source, utcUs, monoUs, raw)
      else {
        this.#addPlain(plain, add)
        add('reading', [source, utcUs, monoUs, raw, stored, bits])
      }
    }
    this.#addPlain(plain, add)
  }

  /** Adds the plain readings that wait. */
  #addPlain(plain: (string | number)[], add: AddRow): void {
    let at = 0
    for (const count of PLAIN_AT_ONCE) {
      const parameters = count * PLAIN_PARAMETERS
      for (; plain.length - at >= parameters; at += parameters)
        add(`plain${count}`, plain.slice(at, at + parameters))
    }
    plain.length = 0
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
