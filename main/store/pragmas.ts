import type { Database } from 'better-sqlite3'

/** How every connection must stand. SQLite's own defaults differ from build to build and from open to open. */
export const PRAGMAS = {
  synchronous: 2,
  recursive_triggers: 1,
  trusted_schema: 0,
  foreign_keys: 1,
} as const

/**
 * On macOS fsync leaves the data in the disk's own cache; these ask for F_FULLFSYNC and are off by default there
 * (sqlite.org, pragma.html). Elsewhere they change nothing.
 */
const FULL_SYNC = { fullfsync: 1, checkpoint_fullfsync: 1 } as const

/** WAL file is cut back to this after a checkpoint, bytes. */
const WAL_LIMIT = 16 * 1024 * 1024

/** A pragma that did not take: its name, and what it is and ought to be. */
export interface WrongPragma {
  readonly name: string
  readonly found: unknown
  readonly value: unknown
}

/**
 * Sets the pragmas and reads each one back: a build whose WAL default is NORMAL reports FULL while it creates a file
 * and NORMAL on every later open, so setting alone proves nothing. Returns the first that did not take.
 */
export function applyPragmas(db: Database, mode: 'write' | 'read'): WrongPragma | undefined {
  if (mode === 'write') {
    const found = db.pragma('journal_mode = WAL', { simple: true })
    if (found !== 'wal') return { name: 'journal_mode', found, value: 'wal' }
    db.pragma(`journal_size_limit = ${WAL_LIMIT}`)
  }
  for (const [name, value] of Object.entries({ ...PRAGMAS, ...FULL_SYNC })) {
    db.pragma(`${name} = ${value}`)
    const found = db.pragma(name, { simple: true })
    if (found !== value) return { name, found, value }
  }
  return undefined
}
