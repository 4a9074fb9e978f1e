import type { Clock } from '../../app/base/clock.ts'
import { bringUpToDate } from './bring-up-to-date.ts'
import { checkVersion } from './migrate.ts'
import { sessionMigrations } from './migrations/session/index.ts'
import { openSessionFile, type SessionFile } from './session-file.ts'
import { openDatabase } from './sqlite.ts'

/**
 * Opens a session to write to it, giving a file of an older form the newest one first; the old file stays beside it.
 * Throws what openSessionFile and bringUpToDate throw.
 */
export function openForWriting(path: string, clock: Pick<Clock, 'now'>): SessionFile {
  if (isOlder(path)) bringUpToDate(path)
  return openSessionFile(path, { mode: 'write', clock })
}

function isOlder(path: string): boolean {
  const db = openDatabase(path, 'session', 'read')
  try {
    return checkVersion(db, 'session', sessionMigrations)
  } finally {
    db.close()
  }
}
