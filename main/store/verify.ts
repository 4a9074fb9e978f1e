import { isoUtc } from '../../app/base/clock.ts'
import { counted } from '../../app/base/plural.ts'
import type { VerifyResult } from '../../app/contract/studies.ts'
import { BatchBytes, sha256 } from './chain.ts'
import { ChunkCheck } from './chunk-check.ts'
import { isDamage, StoreError } from './errors.ts'
import { headBreak } from './file-head.ts'
import { LOG_COLUMNS, type LogRow } from './rows.ts'
import { openSessionFile, type SessionFile } from './session-file.ts'
import { genesisOf } from './session-head.ts'
import { EVENT_COLUMNS, type EventRow } from './session-rows.ts'
import { schemaBreak } from './session-schema.ts'
import { type Db, lacksSchema } from './sqlite.ts'

export interface VerifyOptions {
  /** Heads noted elsewhere: they show what the file alone cannot, a chain cut short or written anew. */
  anchors?: readonly { batch: number; head: string }[]
  signal?: Pick<AbortSignal, 'throwIfAborted'>
}

interface BatchRow {
  n: number
  lastSeq: number
  lastEvent: number
  lastPoint: number
  lastSource: number
  lastMark: number
  hash: Buffer
}

const BATCH_PAGE = 500
/** Readings held in memory at once, where batches are large. */
const READINGS_AT_ONCE = 50_000
const NOTHING: BatchRow = {
  n: 0,
  lastSeq: 0,
  lastEvent: 0,
  lastPoint: 0,
  lastSource: 0,
  lastMark: 0,
  hash: Buffer.alloc(0),
}

/** The first break, thrown so that the walk ends there. */
class Break extends Error {}

/**
 * Walks a session's chain from its start and names the first break: a changed byte, a row that is missing, added or
 * moved, a trigger that was dropped, a chunk that does not say what the log says. Throws StoreError 'not-found' or 'newer', and
 * nothing else for what is in the file.
 */
export function verifySession(path: string, options: VerifyOptions = {}): VerifyResult {
  let file: SessionFile
  try {
    file = openSessionFile(path, { mode: 'read' })
  } catch (fault) {
    // Neither is broken: one is not there, the other is for a newer program to look at.
    if (fault instanceof StoreError && (fault.code === 'not-found' || fault.code === 'newer')) throw fault
    return broken(NOTHING, fault instanceof Error ? fault.message : String(fault))
  }
  let walk: Walk | undefined
  try {
    walk = new Walk(file, options)
    walk.run()
    const { n, lastSeq, hash } = walk.last
    const head = hash.toString('hex')
    return {
      whole: true,
      readings: lastSeq,
      batches: n,
      head,
      firstBreak: null,
      words: `Whole: ${counted(lastSeq, 'reading')} in ${counted(n, 'batch', 'batches')}, head ${head.slice(0, 16)}.`,
    }
  } catch (fault) {
    options.signal?.throwIfAborted()
    const last = walk?.last ?? NOTHING
    if (fault instanceof Break) return broken(last, fault.message)
    if (fault instanceof StoreError && fault.code === 'damaged')
      return broken(last, `Beside the log: ${fault.message}.`)
    if (!isDamage(fault) && !(fault instanceof RangeError)) throw fault
    return broken(last, `After reading ${last.lastSeq} the file cannot be read: ${(fault as Error).message}.`)
  } finally {
    file.close()
  }
}

const broken = (last: BatchRow, firstBreak: string): VerifyResult => ({
  whole: false,
  readings: last.lastSeq,
  batches: last.n,
  head: last.hash.toString('hex'),
  firstBreak,
  words: `Broken after ${counted(last.lastSeq, 'reading')} in ${counted(last.n, 'batch', 'batches')} that are whole. ${firstBreak}`,
})

class Walk {
  last: BatchRow = { ...NOTHING }
  readonly #file: SessionFile
  readonly #db: Db
  readonly #options: VerifyOptions
  readonly #bytes = new BatchBytes()
  readonly #chunks: ChunkCheck
  readonly #select

  constructor(file: SessionFile, options: VerifyOptions) {
    this.#file = file
    this.#db = file.database
    this.#options = options
    this.#chunks = new ChunkCheck(file)
    const between = (what: string, table: string, key: string) =>
      this.#db.prepare(`SELECT ${what} FROM ${table} WHERE ${key} > ? AND ${key} <= ? ORDER BY ${key}`).raw()
    this.#select = {
      mark: between('bit, name', 'mark', 'bit + 1'),
      source: between('id, channel, unit, current_ma', 'source', 'id'),
      log: between(LOG_COLUMNS, 'log', 'seq'),
      event: between(EVENT_COLUMNS, 'event', 'n'),
      point: between('n, json', 'point', 'n'),
      batches: this.#db.prepare(
        `SELECT n, last_seq AS lastSeq, last_event AS lastEvent, last_point AS lastPoint, last_source AS lastSource,
         last_mark AS lastMark, hash FROM batch WHERE n > ? ORDER BY n LIMIT ${BATCH_PAGE}`,
      ),
    }
  }

  run(): void {
    // One moment of a file that may still be written.
    this.#db.exec('BEGIN')
    try {
      this.#checkSchema(this.#file)
      this.#checkPages()
      this.last.hash = genesisOf(this.#db)
      this.#checkAnchors(0, this.last.hash)
      for (;;) {
        this.#options.signal?.throwIfAborted()
        const batches = this.#select.batches.all(this.last.n) as BatchRow[]
        const end = batches.findIndex(
          (batch, i) =>
            i > 0 &&
            (batch.lastSeq - this.last.lastSeq > READINGS_AT_ONCE ||
              impossible(batches[i - 1]!, batch) !== undefined),
        )
        const few = end < 0 ? batches : batches.slice(0, end)
        const words = few[0] && impossible(this.last, few[0])
        if (words !== undefined) throw new Break(words)
        this.#walkPage(few)
        if (few.length === batches.length && batches.length < BATCH_PAGE) break
      }
      this.#checkEnds()
      this.#checkWorking()
      this.#chunks.end()
    } finally {
      this.#db.exec('COMMIT')
    }
  }

  #walkPage(batches: readonly BatchRow[]): void {
    const to = batches.at(-1)
    if (!to) return
    const from = this.last
    const log = this.#select.log.all(from.lastSeq, to.lastSeq) as LogRow[]
    const events = this.#select.event.all(from.lastEvent, to.lastEvent) as EventRow[]
    const points = this.#select.point.all(from.lastPoint, to.lastPoint) as [number, string][]
    const sources = this.#select.source.all(from.lastSource, to.lastSource) as unknown[][]
    const marks = this.#select.mark.all(from.lastMark, to.lastMark) as unknown[][]
    for (const batch of batches) {
      const before = this.last
      if (batch.n !== before.n + 1) throw new Break(`Batch ${before.n + 1} is missing.`)
      this.#bytes.start(before.hash, batch.n)
      for (let n = before.lastMark; n < batch.lastMark; n++)
        this.#bytes.row('mark', this.#row(marks, n - from.lastMark, n, 'Mark'))
      for (let n = before.lastSource + 1; n <= batch.lastSource; n++)
        this.#bytes.row('source', this.#row(sources, n - from.lastSource - 1, n, 'Source'))
      for (let seq = before.lastSeq + 1; seq <= batch.lastSeq; seq++) {
        const row = log[seq - from.lastSeq - 1]
        if (row?.[0] !== seq) throw new Break(`Reading ${seq} is missing.`)
        this.#bytes.reading(seq, row[2], row[3], row[1], row[6], row[4], row[5])
      }
      for (let n = before.lastEvent + 1; n <= batch.lastEvent; n++)
        this.#bytes.row('event', this.#row(events, n - from.lastEvent - 1, n, 'Event'))
      for (let n = before.lastPoint + 1; n <= batch.lastPoint; n++)
        this.#bytes.row('point', this.#row(points, n - from.lastPoint - 1, n, 'Point'))
      if (!this.#bytes.digest().equals(batch.hash))
        throw new Break(
          `Batch ${batch.n} (${extent(before, batch, log[before.lastSeq - from.lastSeq])}) is not what was recorded.`,
        )
      this.#checkAnchors(batch.n, batch.hash)
      // The chain first: what stands beside it is held against rows that are what was recorded.
      for (let seq = before.lastSeq + 1; seq <= batch.lastSeq; seq++)
        this.#chunks.add(log[seq - from.lastSeq - 1]!)
      this.last = batch
    }
  }

  #row(rows: readonly (readonly unknown[])[], at: number, n: number, what: string): readonly unknown[] {
    const row = rows[at]
    if (row?.[0] !== n) throw new Break(`${what} ${n} is missing.`)
    return row
  }

  #checkAnchors(batch: number, hash: Buffer): void {
    for (const anchor of this.#options.anchors ?? [])
      if (anchor.batch === batch && anchor.head !== hash.toString('hex'))
        throw new Break(
          `Batch ${batch} does not have the head noted in the station: the chain was written anew at or before it.`,
        )
  }

  /** Nothing may stand outside the chain, and nothing that was noted elsewhere may be gone. */
  #checkEnds(): void {
    const { last } = this
    const ends = [
      ['log', 'seq', last.lastSeq, 'Reading'],
      ['event', 'n', last.lastEvent, 'Event'],
      ['point', 'n', last.lastPoint, 'Point'],
      ['source', 'id', last.lastSource, 'Source'],
      ['mark', 'bit + 1', last.lastMark, 'Mark'],
    ] as const
    for (const [table, key, end, what] of ends) {
      const row = this.#db
        .prepare(`SELECT ${key} FROM ${table} WHERE ${key} > ? OR ${key} < 1 ORDER BY ${key} LIMIT 1`)
        .pluck()
        .get(end)
      if (row !== undefined) throw new Break(`${what} ${String(row)} stands outside the chain.`)
    }
    const outside = this.#db.prepare('SELECT n FROM batch WHERE n < 1').pluck().get()
    if (outside !== undefined) throw new Break(`Batch ${String(outside)} stands outside the chain.`)
    const beyond = this.#options.anchors?.find(({ batch }) => batch > last.n)
    if (beyond)
      throw new Break(
        `The file ends with batch ${last.n}; the station noted batch ${beyond.batch}. The end was cut off.`,
      )
  }

  #checkWorking(): void {
    const rows = this.#db.prepare('SELECT key, value, sha256 FROM working').raw().all() as [
      string,
      string,
      Buffer,
    ][]
    for (const [key, value, sum] of rows)
      if (!sha256(Buffer.from(value, 'utf8')).equals(sum))
        throw new Break(`The working state "${key}" is not what was stored.`)
  }

  /** Before anything of it is read: the description of the file must be, letter by letter, what its form has. */
  #checkSchema(file: SessionFile): void {
    if (lacksSchema(file.database)) throw new Break('SQLite cannot read the description of its tables.')
    const head = headBreak(file.path)
    if (head !== undefined) throw new Break(`The head of the file is damaged: ${head}.`)
    const words = schemaBreak(file.database)
    if (words !== undefined) throw new Break(words)
  }

  #checkPages(): void {
    const found = this.#db.pragma('integrity_check(1)', { simple: true })
    if (found !== 'ok') throw new Break(`SQLite finds the file damaged: ${String(found).split('\n').at(-1)}.`)
  }
}

/** More rows of one kind than any batch of this program holds. */
const MOST_IN_BATCH = 1_000_000

/** Numbers that were forged must not make anybody go through what is not there. */
function impossible(before: BatchRow, batch: BatchRow): string | undefined {
  for (const what of ['lastSeq', 'lastEvent', 'lastPoint', 'lastSource', 'lastMark'] as const) {
    const more = batch[what] - before[what]
    if (!Number.isInteger(more) || more < 0 || more > MOST_IN_BATCH)
      return `Batch ${batch.n} claims rows that no batch has (${what} ${batch[what]}).`
  }
  return undefined
}

function extent(before: BatchRow, batch: BatchRow, first: LogRow | undefined): string {
  const parts: string[] = []
  if (batch.lastSeq > before.lastSeq)
    parts.push(
      `readings ${before.lastSeq + 1} to ${batch.lastSeq}${first ? `, from ${isoUtc(first[2])}` : ''}`,
    )
  if (batch.lastEvent > before.lastEvent) parts.push(`events ${before.lastEvent + 1} to ${batch.lastEvent}`)
  if (batch.lastPoint > before.lastPoint) parts.push(`points ${before.lastPoint + 1} to ${batch.lastPoint}`)
  return parts.join('; ') || 'empty'
}
