import { existsSync, rmSync } from 'node:fs'
import { basename, dirname, join } from 'node:path'
import Database from 'better-sqlite3'
import { said } from '../../../app/messages/said.ts'
import { asStoreError, StoreError } from '../errors.ts'
import { hashOfFile } from '../hash-of-file.ts'
import { Ledger } from '../ledger.ts'
import { beginPrivate } from '../private.ts'
import { renameWhole } from '../rename-whole.ts'
import { type FileKind, openDatabase } from '../sqlite.ts'
import { verifySession } from '../verify.ts'
import { syncFolder } from './file.ts'

export interface CopiedFile {
  path: string
  /** SHA-256 of the copy, hexadecimal. */
  sha256: string
  bytes: number
}

export interface CopyResult extends CopiedFile {
  readings: number
  head: string
}

/** Pages copied between two looks at the event loop: a writer in the same process goes on in between. */
const PAGES_AT_ONCE = 2000

type Cancel = Pick<AbortSignal, 'throwIfAborted'>

/**
 * Copies a file of ours, also while it is written, into one that needs nothing beside it; the copy takes its name only
 * once `check` has found it whole. Throws StoreError 'disk-full', 'damaged' or 'input-output'.
 */
async function copyWhole<T>(
  {
    source,
    target,
    kind,
    signal,
  }: { source: string; target: string; kind: FileKind; signal: Cancel | undefined },
  check: (copyPath: string) => T,
): Promise<T & CopiedFile> {
  const partPath = `${target}.${process.pid}.part`
  const removePart = () => {
    for (const suffix of ['', '-wal', '-shm', '-journal']) rmSync(partPath + suffix, { force: true })
  }
  const db = openDatabase(source, kind, 'read')
  try {
    removePart()
    beginPrivate(partPath)
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
    const found = check(partPath)
    const hash = hashOfFile(partPath)
    renameWhole(partPath, target)
    syncFolder(dirname(target))
    return { ...found, ...hash, path: target }
  } catch (fault) {
    signal?.throwIfAborted()
    throw asStoreError(fault, target)
  } finally {
    db.close()
    removePart()
  }
}

const notWhole = (source: string, target: string, words: string | null) =>
  new StoreError('damaged', said('copy-not-whole', { source, words: words ?? '' }), {
    source,
    target,
  })

/** Copies a session; the copy is verified from its first batch to its last. Throws what copyWhole throws. */
export function copySession(source: string, target: string, signal?: Cancel): Promise<CopyResult> {
  return copyWhole({ source, target, kind: 'session', signal }, (copyPath) => {
    const { whole, firstBreak, readings, head } = verifySession(copyPath, signal ? { signal } : {})
    if (!whole) throw notWhole(source, target, firstBreak)
    return { readings, head }
  })
}

/** Copies station.db; the copy's pages and its ledger are walked. Tells the ledger's last entry. */
export function copyStation(
  source: string,
  target: string,
  signal?: Cancel,
): Promise<CopiedFile & { ledger: { n: number; hash: string } }> {
  return copyWhole({ source, target, kind: 'station', signal }, (copyPath) => {
    const copy = openDatabase(copyPath, 'station', 'read')
    try {
      const pages = copy.pragma('integrity_check', { simple: true })
      if (pages !== 'ok') throw notWhole(source, target, String(pages))
      const { whole, entries, head, firstBreak } = new Ledger(copy).verify()
      if (!whole) throw notWhole(source, target, firstBreak)
      return { ledger: { n: entries, hash: entries === 0 ? '' : head } }
    } finally {
      copy.close()
    }
  })
}

/** Copies a session into a second folder and verifies the copy. */
export async function backupSession(
  source: string,
  folder: string,
  signal?: Pick<AbortSignal, 'throwIfAborted'>,
): Promise<CopyResult> {
  if (!existsSync(folder))
    throw new StoreError('not-found', said('backup-folder-missing', { folder }), {
      folder,
    })
  return copySession(source, join(folder, basename(source)), signal)
}
