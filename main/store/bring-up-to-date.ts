import { copyFileSync, existsSync, linkSync, renameSync, rmSync } from 'node:fs'
import { dirname } from 'node:path'
import { asStoreError, StoreError } from './errors.ts'
import { syncFolder } from './export/file.ts'
import { migrate, schemaVersion } from './migrate.ts'
import { sessionMigrations } from './migrations/session/index.ts'
import { rebuildChunks } from './pyramid.ts'
import { Numbering } from './rows.ts'
import { inTransaction, openDatabase } from './sqlite.ts'
import { verifySession } from './verify.ts'

/**
 * Gives an older session file the newest form: in a copy, which is verified and then takes the file's name. The file
 * as it was stays beside it, with its form in its name. Throws StoreError 'locked' while others have it open.
 */
export function bringUpToDate(path: string): { from: number; keptAs: string } {
  const partPath = `${path}.${process.pid}.part`
  const removePart = () => {
    for (const suffix of ['', '-wal', '-shm', '-journal']) rmSync(partPath + suffix, { force: true })
  }
  try {
    removePart()
    const old = openDatabase(path, 'session', 'write')
    const from = schemaVersion(old)
    try {
      old.prepare('VACUUM INTO ?').run(partPath)
    } finally {
      old.close()
    }
    if (existsSync(`${path}-wal`))
      throw new StoreError(
        'locked',
        `${path} is open elsewhere. Close it there, so that it can be given its new form.`,
        {
          path,
        },
      )
    const copy = openDatabase(partPath, 'session', 'write')
    try {
      migrate(copy, sessionMigrations)
      inTransaction(copy, () => rebuildChunks(copy, Numbering.read(copy)))
      copy.pragma('journal_mode = DELETE')
    } finally {
      copy.close()
    }
    const { whole, words } = verifySession(partPath)
    if (!whole)
      throw new StoreError(
        'damaged',
        `${path} was not given its new form, because it is not whole. ${words}`,
        { path },
      )
    const keptAs = `${path}.form${from}`
    rmSync(keptAs, { force: true })
    keepAs(path, keptAs)
    renameSync(partPath, path)
    syncFolder(dirname(path))
    return { from, keptAs }
  } catch (fault) {
    throw asStoreError(fault, path)
  } finally {
    removePart()
  }
}

function keepAs(path: string, keptAs: string): void {
  try {
    linkSync(path, keptAs)
  } catch {
    // A disk without second names for a file, as sticks have: the file as it was is copied.
    copyFileSync(path, keptAs)
  }
}
