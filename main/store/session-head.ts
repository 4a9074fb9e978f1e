import { said } from '../../app/messages/said.ts'
import { genesis } from './chain.ts'
import { asStoreError, StoreError } from './errors.ts'
import type { Db } from './sqlite.ts'

/** Where a session and its chain end. */
export interface Ends {
  batch: number
  seq: number
  event: number
  point: number
  head: Buffer
}

/** Larger files are checked by verify, outside the loop that measures: a station must be back within two seconds. */
const QUICK_CHECK_BYTES = 256 * 1024 * 1024

/** Nothing is added to a file whose pages do not fit together. */
export function quickCheck(db: Db): void {
  const bytes =
    Number(db.pragma('page_count', { simple: true })) * Number(db.pragma('page_size', { simple: true }))
  if (bytes > QUICK_CHECK_BYTES) return
  const found = db.pragma('quick_check(1)', { simple: true })
  if (found !== 'ok')
    throw new StoreError(
      'damaged',
      said('session-damaged', { db: db.name, at: String(String(found).split('\n').at(-1)) }),
      { path: db.name },
    )
}

/** Puts an ended session into one plain file, unless others have it open: then it stays as it is. */
export function tryPlainFile(db: Db): void {
  try {
    db.pragma('busy_timeout = 0')
    db.pragma('journal_mode = DELETE')
  } catch (fault) {
    const known = asStoreError(fault, db.name)
    if (!(known instanceof StoreError)) throw known
  }
}

/** What the session was set up with, as stored. */
export function readHead(db: Db): { info: string; setup: string } {
  const row = db.prepare('SELECT info, setup FROM session').get() as
    | { info: string; setup: string }
    | undefined
  if (!row) throw new StoreError('damaged', said('session-unnamed', { db: db.name }), { path: db.name })
  return row
}

/** Hash of the chain before its first batch. */
export function genesisOf(db: Db): Buffer {
  const { info, setup } = readHead(db)
  return genesis(info, setup)
}

/** Where the chain ends; undefined before the first batch. */
export function lastBatch(db: Db): Ends | undefined {
  const row = db
    .prepare('SELECT n, last_seq, last_event, last_point, hash FROM batch ORDER BY n DESC LIMIT 1')
    .raw()
    .get() as [number, number, number, number, Buffer] | undefined
  return row && { batch: row[0], seq: row[1], event: row[2], point: row[3], head: row[4] }
}
