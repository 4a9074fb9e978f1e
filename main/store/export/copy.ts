import { existsSync, rmSync } from 'node:fs'
import { basename, dirname, join } from 'node:path'
import Database from 'better-sqlite3'
import { asStoreError, StoreError } from '../errors.ts'
import { renameWhole } from '../rename-whole.ts'
import { openDatabase } from '../sqlite.ts'
import { verifySession } from '../verify.ts'
import { syncFolder } from './file.ts'

export interface CopyResult {
  path: string
  readings: number
  head: string
}

/** Pages copied between two looks at the event loop: a writer in the same process goes on in between. */
const PAGES_AT_ONCE = 2000

/**
 * Copies a session, also while it is written, into one file that needs nothing beside it; the copy is verified from
 * its first batch to its last before it takes its name. Throws StoreError 'disk-full', 'damaged' or 'input-output'.
 */
export async function copySession(
  source: string,
  target: string,
  signal?: Pick<AbortSignal, 'throwIfAborted'>,
): Promise<CopyResult> {
  const partPath = `${target}.${process.pid}.part`
  const removePart = () => {
    for (const suffix of ['', '-wal', '-shm', '-journal']) rmSync(partPath + suffix, { force: true })
  }
  const db = openDatabase(source, 'session', 'read')
  try {
    removePart()
    await db.backup(partPath, {
      progress: () => {
        signal?.throwIfAborted()
        return PAGES_AT_ONCE
      },
    })
    const copy = new Database(partPath)
    try {
      // One file that can be carried away: no write-ahead log beside it.
      copy.pragma('journal_mode = DELETE')
    } finally {
      copy.close()
    }
    const result = verifySession(partPath, signal ? { signal } : {})
    if (!result.whole)
      throw new StoreError(
        'damaged',
        `The copy of ${source} is not whole, so it was not kept. ${result.firstBreak}`,
        {
          source,
          target,
        },
      )
    renameWhole(partPath, target)
    syncFolder(dirname(target))
    return { path: target, readings: result.readings, head: result.head }
  } catch (fault) {
    signal?.throwIfAborted()
    throw asStoreError(fault, target)
  } finally {
    db.close()
    removePart()
  }
}

/** Copies a session into a second folder and verifies the copy. */
export async function backupSession(
  source: string,
  folder: string,
  signal?: Pick<AbortSignal, 'throwIfAborted'>,
): Promise<CopyResult> {
  if (!existsSync(folder))
    throw new StoreError('not-found', `The backup folder ${folder} is not there. Is its disk connected?`, {
      folder,
    })
  return copySession(source, join(folder, basename(source)), signal)
}
