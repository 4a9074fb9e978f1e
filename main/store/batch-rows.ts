import { entryOf } from '../../app/base/lists.ts'
import type { Db } from './sqlite.ts'

// The thread that writes loads this file and nothing else of ours: what it imports it holds in memory once more.

/** In the log, a value that is the raw text itself is kept as this. */
export const SAME = '='

const COLUMNS = 'source, utc_us, mono_us, raw, value, marks'

/** Plain readings of one INSERT, the largest that fits taken first: fewer calls for the same rows. */
export const PLAIN_AT_ONCE = [48, 8, 1] as const
/** Parameters of a plain reading: its value is the raw text itself and it has no marks, as nearly all. */
export const PLAIN_PARAMETERS = 4

const plainRows = (count: number) =>
  `INSERT INTO log (${COLUMNS}) VALUES ${Array.from({ length: count }, () => `(?, ?, ?, ?, '${SAME}', 0)`).join(', ')}`

/** Pages that a connection which only adds keeps in memory, kB: SQLite as it is built here would keep 16,000. */
const CACHE_KB = 2_000

/** What is added to a session file, a statement for each kind of row. */
const ROWS = {
  plain48: plainRows(48),
  plain8: plainRows(8),
  plain1: plainRows(1),
  reading: `INSERT INTO log (${COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)`,
  source: 'INSERT INTO source VALUES (?, ?, ?, ?)',
  mark: 'INSERT INTO mark VALUES (?, ?)',
  event: 'INSERT INTO event VALUES (?, ?, ?, ?, ?, ?, ?, ?)',
  point: 'INSERT INTO point VALUES (?, ?)',
  batch: 'INSERT INTO batch VALUES (?, ?, ?, ?, ?, ?, ?)',
  working: 'INSERT OR REPLACE INTO working VALUES (?, ?, ?)',
  chunk: 'INSERT INTO chunk VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)',
  cells: 'INSERT INTO chunk_cells VALUES (?, ?)',
  body: 'INSERT INTO chunk_body VALUES (?, ?)',
  sealed: 'INSERT OR REPLACE INTO sealed VALUES (?, ?, ?)',
} as const

export type RowKind = keyof typeof ROWS
/** Takes a row that is to be added: at once, or into a list for another thread. */
export type AddRow = (kind: RowKind, row: readonly unknown[]) => void

/** Adds rows to a session file in one transaction that is on the disk when `commit` returns. */
export class RowWriter {
  readonly #db: Db
  readonly #add
  readonly #begin
  readonly #commit
  readonly #rollback
  #lastSeq: number | bigint = 0

  constructor(db: Db) {
    this.#db = db
    db.pragma(`cache_size = -${CACHE_KB}`)
    this.#begin = db.prepare('BEGIN IMMEDIATE')
    this.#commit = db.prepare('COMMIT')
    this.#rollback = db.prepare('ROLLBACK')
    this.#add = new Map(Object.entries(ROWS).map(([kind, sql]) => [kind as RowKind, db.prepare(sql)]))
  }

  begin(): void {
    this.#lastSeq = 0
    this.#begin.run()
  }

  readonly add: AddRow = (kind, row) => {
    // One argument for each parameter costs less to bind than a list of them.
    const { lastInsertRowid } = entryOf(this.#add, kind).run(...row)
    if (kind === 'reading' || kind.startsWith('plain')) this.#lastSeq = lastInsertRowid
  }

  /**
   * `lastSeq`: seq that the last reading must have been given; null where the batch has none. False, and nothing is committed, where
   * the log does not end there.
   */
  commit(lastSeq: number | null): boolean {
    if (lastSeq !== null && this.#lastSeq !== lastSeq) return false
    this.#commit.run()
    return true
  }

  rollback(): void {
    if (this.#db.inTransaction) this.#rollback.run()
  }
}
