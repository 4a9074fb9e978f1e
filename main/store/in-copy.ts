import { copyFileSync, existsSync, linkSync, rmSync } from 'node:fs'
import { dirname } from 'node:path'
import { said } from '../../app/messages/said.ts'
import { asStoreError, StoreError } from './errors.ts'
import { syncFolder } from './export/file.ts'
import { schemaVersion } from './migrate.ts'
import { beginPrivate, keepPrivate } from './private.ts'
import { renameWhole } from './rename-whole.ts'
import { type Db, type FileKind, openDatabase } from './sqlite.ts'

const SUFFIXES = ['', '-wal', '-shm', '-journal']

/**
 * Gives a file its new form in a copy, which takes the file's name only once it has been checked. The file as it was
 * stays beside it, with its form in its name. Whatever fails leaves the file as it was. Throws StoreError 'locked' while
 * others have it open.
 */
export function renewInCopy(
  path: string,
  kind: FileKind,
  { step, check }: { step: (copy: Db) => void; check: (copyPath: string) => void },
): { from: number; keptAs: string } {
  const partPath = `${path}.${process.pid}.part`
  const removePart = () => {
    for (const suffix of SUFFIXES) rmSync(partPath + suffix, { force: true })
  }
  try {
    removePart()
    const old = openDatabase(path, kind, 'write')
    const from = schemaVersion(old)
    try {
      beginPrivate(partPath)
      old.prepare('VACUUM INTO ?').run(partPath)
    } finally {
      old.close()
    }
    if (existsSync(`${path}-wal`))
      throw new StoreError('locked', said('renew-open-elsewhere', { path }), { path })
    const copy = openDatabase(partPath, kind, 'write')
    try {
      step(copy)
      copy.pragma('journal_mode = DELETE')
    } finally {
      copy.close()
    }
    check(partPath)
    const keptAs = `${path}.form${from}`
    rmSync(keptAs, { force: true })
    keepAs(path, keptAs)
    keepPrivate(keptAs)
    renameWhole(partPath, path)
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
