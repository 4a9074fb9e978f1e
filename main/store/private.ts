import { chmodSync, closeSync, mkdirSync, openSync, statSync } from 'node:fs'
import { asStoreError } from './errors.ts'

/** Rights of what a station keeps: its owner alone reads it. Windows keeps rights by folder and passes over these. */
export const PRIVATE_FILE = 0o600
const PRIVATE_FOLDER = 0o700
const OTHERS = 0o077

/**
 * Begins an empty file that its owner alone can read, where there is none. SQLite takes it for a database without pages, and
 * gives its log and the index beside it the same rights (https://www.sqlite.org/src/file/src/os_unix.c, findCreateFileMode).
 * Throws StoreError where the disk or the rights of the folder refuse.
 */
export function beginPrivate(path: string): void {
  try {
    closeSync(openSync(path, 'a', PRIVATE_FILE))
  } catch (fault) {
    throw asStoreError(fault, path)
  }
  keepPrivate(path)
}

/** Makes a folder of the station's own, or takes what others may do there from one that an earlier station made. */
export function privateFolder(path: string): void {
  mkdirSync(path, { recursive: true, mode: PRIVATE_FOLDER })
  keepPrivate(path)
}

/** Takes from a file or folder what others may do with it. Where it is somebody else's that is theirs to decide. */
export function keepPrivate(path: string): void {
  if (process.platform === 'win32') return
  try {
    const { mode } = statSync(path)
    if ((mode & OTHERS) !== 0) chmodSync(path, mode & 0o7777 & ~OTHERS)
  } catch {
    // A disk that knows no rights, or a file of another user: nothing here depends on it.
  }
}
