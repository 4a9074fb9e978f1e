import { closeSync, existsSync, fsyncSync, openSync, rmSync, statfsSync, statSync, writeSync } from 'node:fs'
import { join } from 'node:path'
import { asStoreError } from './errors.ts'
import { PRIVATE_FILE } from './private.ts'

/** Bytes a person may still write on the disk of a folder. Throws StoreError 'input-output'. */
export function freeBytes(folder: string): number {
  try {
    const { bavail, bsize } = statfsSync(folder)
    return bavail * bsize
  } catch (fault) {
    throw asStoreError(fault, folder)
  }
}

/**
 * Room set aside on the sessions' disk. When the disk is full it is given up, so that the stop, the mark and the alarm
 * can still be written.
 */
export class DiskReserve {
  readonly path: string
  readonly #bytes: number

  constructor(folder: string, bytes = 4 * 1024 * 1024) {
    this.path = join(folder, 'reserve.bin')
    this.#bytes = bytes
  }

  get held(): boolean {
    return existsSync(this.path) && statSync(this.path).size >= this.#bytes
  }

  /** Sets the room aside, or says that there is none for it. */
  hold(): boolean {
    if (this.held) return true
    let fd: number | undefined
    try {
      fd = openSync(this.path, 'w', PRIVATE_FILE)
      // Written byte by byte: a file that is only declared long takes no room on most disks.
      const block = Buffer.alloc(64 * 1024, 0x5a)
      for (let at = 0; at < this.#bytes; )
        at += writeSync(fd, block, 0, Math.min(block.length, this.#bytes - at))
      fsyncSync(fd)
      return true
    } catch (fault) {
      rmSync(this.path, { force: true })
      const known = asStoreError(fault, this.path)
      if (known instanceof Error && 'code' in known && known.code === 'disk-full') return false
      throw known
    } finally {
      if (fd !== undefined) closeSync(fd)
    }
  }

  /** Gives the room up. */
  release(): void {
    rmSync(this.path, { force: true })
  }
}
