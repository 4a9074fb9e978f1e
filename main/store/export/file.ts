import { closeSync, fsyncSync, openSync, rmSync, writeSync } from 'node:fs'
import { dirname } from 'node:path'
import { asStoreError } from '../errors.ts'
import { renameWhole } from '../rename-whole.ts'

/** Where an export's bytes go; they are under the wanted name only once all of them are on the disk. */
export interface OutFile {
  readonly partPath: string
  write(bytes: Uint8Array | string): void
}

/**
 * Writes beside the wanted file and takes its name at the end, so that a full disk or a cancelled export leaves what
 * was there before. Throws StoreError 'disk-full' or 'input-output'.
 */
export function writeThenRename<T>(path: string, work: (out: OutFile) => T, mode = 0o666): T {
  const partPath = `${path}.${process.pid}.part`
  let file: number | undefined
  try {
    file = openSync(partPath, 'w', mode)
    const fd = file
    const result = work({
      partPath,
      write(bytes) {
        const buffer = typeof bytes === 'string' ? Buffer.from(bytes, 'utf8') : bytes
        for (let at = 0; at < buffer.length; ) at += writeSync(fd, buffer, at)
      },
    })
    fsyncSync(fd)
    closeSync(fd)
    file = undefined
    renameWhole(partPath, path)
    syncFolder(dirname(path))
    return result
  } catch (fault) {
    if (file !== undefined) closeSync(file)
    rmSync(partPath, { force: true })
    throw asStoreError(fault, path)
  }
}

/** Makes a new name last through a power cut. Windows has no such call and keeps names with its own log. */
export function syncFolder(folder: string): void {
  if (process.platform === 'win32') return
  const fd = openSync(folder, 'r')
  try {
    fsyncSync(fd)
  } finally {
    closeSync(fd)
  }
}
