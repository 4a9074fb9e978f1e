import { statSync } from 'node:fs'
import type { Clock } from '../../app/base/clock.ts'
import { eventOf, type Said, said, type ToTell } from '../../app/messages/said.ts'
import type { Point } from '../../app/records/point.ts'
import type { Reading } from '../../app/records/reading.ts'
import {
  ENDING_WORDS,
  type NewSessionEvent,
  SESSION_ENDINGS,
  type SessionEvent,
  SessionInfo,
  SessionSetup,
} from '../../app/records/session.ts'
import { BatchBytes, type ChainBytes } from './chain.ts'
import type { Stretch } from './chunk.ts'
import { asStoreError, isDamage, StoreError } from './errors.ts'
import { LogQueries, type ReadingsQuery } from './log-queries.ts'
import { checkVersion, migrate, schemaVersion } from './migrate.ts'
import { sessionMigrations } from './migrations/session/index.ts'
import type { Overview } from './overview.ts'
import { type ColumnsQuery, type OverviewQuery, Pyramid } from './pyramid.ts'
import type { ReadingPage } from './reading-pages.ts'
import { Numbering } from './rows.ts'
import { genesisOf, lastBatch, quickCheck, readHead, tryPlainFile } from './session-head.ts'
import {
  type Amendment,
  type AmendmentTarget,
  parseStored,
  readAmendments,
  readEvents,
  readPoints,
  readSignOffs,
  type SignOff,
} from './session-rows.ts'
import { refuseTraps, schemaBreak } from './session-schema.ts'
import { createDatabase, type Db, inTransaction, lacksSchema, openDatabase } from './sqlite.ts'
import { unknownInfo, unknownSetup } from './unknown-session.ts'
import { BatchWriter, type CommitBatch, type Committed, type Outcome } from './writer.ts'

export type { ReadingsQuery } from './log-queries.ts'
export type { Overview } from './overview.ts'
export type { OverviewQuery } from './pyramid.ts'
export type { ReadingPage } from './reading-pages.ts'
export type { Amendment, AmendmentTarget, SignOff } from './session-rows.ts'
export type { CommitBatch, Committed, Outcome } from './writer.ts'

type Now = Pick<Clock, 'now'>
type Ending = (typeof SESSION_ENDINGS)[number]

/** Makes the file of a new session. Throws StoreError 'exists', 'disk-full' or 'input-output'. */
export function createSessionFile(
  path: string,
  {
    info,
    setup,
    clock,
    chain = new BatchBytes(),
  }: { info: SessionInfo; setup: SessionSetup; clock: Now; chain?: ChainBytes },
): SessionFile {
  const db = createDatabase(path, 'session')
  try {
    migrate(db, sessionMigrations)
    const texts = {
      info: JSON.stringify(SessionInfo.parse(info)),
      setup: JSON.stringify(SessionSetup.parse(setup)),
    }
    inTransaction(db, () => db.prepare('INSERT INTO session VALUES (1, ?, ?)').run(texts.info, texts.setup))
    return new SessionFile(db, { clock, chain })
  } catch (fault) {
    db.close()
    throw asStoreError(fault, path)
  }
}

/**
 * Opens a session. To write, it must have the newest form, which bringUpToDate gives it. Throws StoreError
 * 'not-found', 'not-ours', 'newer', 'damaged', 'locked' or 'input-output'.
 */
export function openSessionFile(
  path: string,
  options: { mode: 'read' } | { mode: 'write'; clock: Now; chain?: ChainBytes },
): SessionFile {
  const db = openDatabase(path, 'session', options.mode)
  try {
    const old = checkVersion(db, 'session', sessionMigrations)
    refuseTraps(db)
    if (options.mode === 'read') return new SessionFile(db, undefined)
    if (old)
      throw new StoreError('refused', said('session-form-older', { path }), {
        path,
      })
    quickCheck(db)
    const words = schemaBreak(db)
    if (words !== undefined)
      throw new StoreError('damaged', said('session-not-written-any-more', { path, words }), { path })
    return new SessionFile(db, { clock: options.clock, chain: options.chain ?? new BatchBytes() })
  } catch (fault) {
    db.close()
    throw asStoreError(fault, path)
  }
}

/**
 * One session: an append-only log of readings, events and points, chained in batches. What `commit` has returned is on
 * the disk. Everything is synchronous and short; long looks into old sessions belong into the reader's worker.
 */
export class SessionFile {
  readonly path: string
  readonly setup: SessionSetup
  /** What of its head could not be read, in words; what stands in its place says so too. */
  readonly damage: readonly string[]
  readonly #db: Db
  readonly #clock: Now | undefined
  readonly #numbering: Numbering
  readonly #writer: BatchWriter | undefined
  readonly #born: SessionInfo
  readonly #queries: LogQueries

  /** Use createSessionFile or openSessionFile. */
  constructor(db: Db, writing: { clock: Now; chain: ChainBytes } | undefined) {
    this.#db = db
    this.path = db.name
    this.#clock = writing?.clock
    const damage = lacksSchema(db)
      ? [`Descriptions of tables in ${db.name} cannot all be read any more.`]
      : []
    // A reader gets what is left; only a writer insists on everything.
    const readable = <T>(read: () => T, instead: () => T): T => {
      try {
        return read()
      } catch (fault) {
        if (writing || !isDamage(fault)) throw fault
        damage.push((fault as Error).message)
        return instead()
      }
    }
    const head = readable(
      () => readHead(db),
      () => undefined,
    )
    this.#born = readable(
      () => (head ? parseStored(SessionInfo, head.info, `The head of ${db.name}`) : unknownInfo(db.name)),
      () => unknownInfo(db.name),
    )
    this.setup = readable(
      () => (head ? parseStored(SessionSetup, head.setup, `The setup of ${db.name}`) : unknownSetup()),
      () => unknownSetup(),
    )
    this.damage = damage
    this.#numbering = Numbering.read(db, writing ? undefined : (words) => damage.push(words))
    const pyramid = readable(
      () => (schemaVersion(db) >= 3 ? new Pyramid(db, this.#numbering) : undefined),
      () => undefined,
    )
    this.#queries = new LogQueries(db, this.#numbering, pyramid, writing === undefined)
    if (writing && pyramid) {
      pyramid.refresh()
      const ends = lastBatch(db) ?? {
        batch: 0,
        seq: 0,
        event: 0,
        point: 0,
        head: genesisOf(db),
      }
      this.#writer = new BatchWriter(db, this.#numbering, pyramid, ends, writing.chain)
    }
  }

  /** The session as it stands: begun with this, ended by its last 'closed' event unless it was resumed after. */
  get info(): SessionInfo {
    const last = this.events({ kinds: ['closed', 'resumed'] }).at(-1)
    if (last?.kind !== 'closed') return this.#born
    const ending = SESSION_ENDINGS.find((known) => known === last.data.ending)
    if (!ending) return this.#born
    return { ...this.#born, endedUtcUs: last.utcUs, ending, endingReason: String(last.data.reason ?? '') }
  }

  get lastSeq(): number {
    if (this.#writer) return this.#writer.ends.seq
    try {
      return (this.#db.prepare('SELECT max(seq) FROM log').pluck().get() as number | null) ?? 0
    } catch (fault) {
      if (!isDamage(fault)) throw fault
      return lastBatch(this.#db)?.seq ?? 0
    }
  }

  /** seq runs 1, 2, 3 ..., so the last one is the count. */
  get readingCount(): number {
    return this.lastSeq
  }

  get lastUtcUs(): number | null {
    const row = this.#db.prepare('SELECT utc_us FROM log ORDER BY seq DESC LIMIT 1').pluck().get()
    return typeof row === 'number' ? row : null
  }

  /** Channels that have readings, in the order of their first one. */
  get channels(): string[] {
    this.#numbering.readSources(this.#db)
    return this.#numbering.channels()
  }

  /** Form of the file, as its user_version says. */
  get version(): number {
    return schemaVersion(this.#db)
  }

  /**
   * Stores a batch whole or not at all; it is on the disk when this returns, and may be shown then. Throws StoreError
   * 'disk-full' (nothing was stored, try the same batch again when there is room), 'read-only' or 'input-output'.
   */
  commit(batch: CommitBatch): Committed {
    return this.#write().commit(batch)
  }

  /** From when the promise resolves on, what is handed over waits for the disk in a thread of its own, until `endThread`. */
  beginThread(): Promise<void> {
    return this.#write().beginThread()
  }

  /** Resolves when everything is stored and the thread has let go of the file. */
  async endThread(): Promise<void> {
    await this.#writer?.endThread()
  }

  /**
   * As commit, but nobody waits: `told` hears that the batch is on the disk, or why nothing of it is. Without a thread it hears so
   * before this returns.
   */
  hand(batch: CommitBatch, told: (outcome: Outcome) => void): void {
    const writer = this.#write()
    if (writer.hasThread) {
      writer.hand(batch, told)
      return
    }
    let outcome: Outcome
    try {
      outcome = { committed: this.commit(batch) }
    } catch (fault) {
      outcome = { fault }
    }
    told(outcome)
  }

  /** Waits until what was handed over is told of. Throws StoreError 'input-output' where the disk does not answer. */
  settle(): void {
    this.#writer?.settle()
  }

  /** The runner's state as last committed. */
  runnerState(): unknown {
    const text = this.#db.prepare("SELECT value FROM working WHERE key = 'runner'").pluck().get()
    return typeof text === 'string' ? JSON.parse(text) : undefined
  }

  events(
    query: { kinds?: readonly SessionEvent['kind'][]; after?: number; most?: number } = {},
  ): SessionEvent[] {
    return readEvents(this.#db, query)
  }

  points(): Point[] {
    return readPoints(this.#db)
  }

  get amendments(): Amendment[] {
    return readAmendments(this.#db)
  }

  /** Leaves a point, a channel of it, or readings out of what is computed, or takes them back in; the rows stay. */
  amend({
    target,
    who,
    why,
    restore = false,
  }: {
    target: AmendmentTarget
    who: string
    why: string
    restore?: boolean
  }): number {
    return this.#addEvent({
      kind: 'amendment',
      who,
      subject: target.channel ?? null,
      said: said(restore ? 'amended-in' : 'amended-out', { what: targetSaid(target), why }),
      data: { target, restore, why },
    })
  }

  annotate(who: string, words: string): number {
    return this.#addEvent({ kind: 'note', who, said: said('note', { words }) })
  }

  get signOffs(): SignOff[] {
    return readSignOffs(this.#db)
  }

  /** Signs what the file holds now: the head of its chain goes into the act. */
  signOff({
    who,
    remark = '',
    facts = {},
  }: {
    who: string
    remark?: string
    facts?: Record<string, unknown>
  }): number {
    return this.#addEvent({
      kind: 'sign-off',
      who,
      said: said('signed-off', { who }),
      data: { ...facts, head: this.head(), readings: this.readingCount, remark },
    })
  }

  /** Ends the session: the reason becomes an event, all chunks are sealed. Notes and amendments may still follow. */
  finish(ending: Ending, reason: string): void {
    this.#addEvent({
      kind: 'closed',
      said: said('session-ended', { ending: ENDING_WORDS[ending], reason }),
      data: { ending, reason },
    })
    this.#write().sealAll()
  }

  /** Readings after `seq`, in the order they were stored. */
  since(seq: number, most: number): Reading[] {
    return this.#queries.since(seq, most)
  }

  /** Readings from one seq to another, both meant. Throws StoreError 'damaged' where bytes make no sense. */
  between(fromSeq: number, toSeq: number): Reading[] {
    return this.#queries.between(fromSeq, toSeq)
  }

  /** Every reading after a seq, without its text, as columns page by page. Each page is the same object, filled anew. */
  pages(afterSeq: number, most: number): Generator<ReadingPage, undefined> {
    return this.#queries.pages(afterSeq, most)
  }

  /** Readings of one channel in a stretch. */
  readings(query: ReadingsQuery): Reading[] {
    return this.#queries.readings(query)
  }

  /** A channel's readings of the last `windowUs` before a monotonic moment (default: its last reading). */
  lastReadings(channel: string, windowUs: number, beforeMonoUs?: number): Reading[] {
    return this.#queries.lastReadings(channel, windowUs, beforeMonoUs)
  }

  /** Lowest, highest and mean raw number of each bucket of a stretch; readings without a number are left out. */
  /** Every reading of a channel in a stretch, but for its text, as columns. `goOn` may throw to give up. */
  columns(query: ColumnsQuery, goOn?: () => void): Stretch {
    return this.#queries.columns(query, goOn)
  }

  overview(query: OverviewQuery): Overview {
    return this.#queries.overview(query)
  }

  /** Head of the chain, hexadecimal: the hash of everything stored so far. */
  head(): string {
    const head = this.#writer?.ends.head ?? lastBatch(this.#db)?.head
    if (head) return head.toString('hex')
    return genesisOf(this.#db).toString('hex')
  }

  /** Batch and head by which another place can tell later whether this file still says the same. */
  anchor(): { batch: number; head: string } {
    const batch = this.#writer?.ends.batch ?? lastBatch(this.#db)?.batch ?? 0
    return { batch, head: this.head() }
  }

  /** Whether the chain went through this head once: what it ended with is in this file still. */
  hasBatch(head: string): boolean {
    const batch = this.#db.prepare('SELECT 1 FROM batch WHERE hash = ?').get(Buffer.from(head, 'hex'))
    return batch !== undefined || genesisOf(this.#db).toString('hex') === head
  }

  /** Bytes of the write-ahead log beside the file; it grows where a reader keeps an old moment open for long. */
  get walBytes(): number {
    return statSync(`${this.path}-wal`, { throwIfNoEntry: false })?.size ?? 0
  }

  close(): void {
    // An ended session becomes one file that needs nothing beside it and opens from a medium that cannot be written;
    // while others read it, it stays as it is.
    try {
      if (this.#writer && this.info.ending !== null) tryPlainFile(this.#db)
    } finally {
      this.#db.close()
    }
  }

  /** The connection, for the store's own other files. */
  get database(): Db {
    return this.#db
  }

  get numbering(): Numbering {
    return this.#numbering
  }

  #write(): BatchWriter {
    if (!this.#writer)
      throw new StoreError('read-only', said('open-for-reading', { path: this.path }), { path: this.path })
    return this.#writer
  }

  #addEvent(event: ToTell<NewSessionEvent['kind']>): number {
    const writer = this.#write()
    return writer.commit({ events: [{ ...this.#clock!.now(), ...eventOf(event) }] }).firstEvent
  }
}

function targetSaid(target: AmendmentTarget): Said {
  if (target.what === 'point') {
    const { point, channel } = target
    return channel === undefined
      ? said('amended-point', { point })
      : said('amended-point-channel', { point, channel })
  }
  const { channel, fromSeq, toSeq } = target
  return said('amended-readings', { from: String(fromSeq), to: String(toSeq), channel })
}
