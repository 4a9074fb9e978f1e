import { closeSync, existsSync, fsyncSync, openSync, rmSync, statfsSync, statSync, writeSync } from 'node:fs'
import { join } from 'node:path'
import { asStoreError } from './errors.ts'

/**
 * Most bytes a reading takes in a session file with everything that belongs to it: measured at one reading a commit,
 * 110; at 96 a commit it is 60.
 */
export const BYTES_PER_READING = 112
/** The write-ahead log, the reports and other programs need room too. */
const HEADROOM_BYTES = 200 * 1024 * 1024

export interface DiskState {
  freeBytes: number
  /** 'low': warn and go on. 'short': do not begin. */
  level: 'fine' | 'low' | 'short'
  words: string
}

/** Bytes a person may still write on the disk of a folder. Throws StoreError 'input-output'. */
export function freeBytes(folder: string): number {
  try {
    const { bavail, bsize } = statfsSync(folder)
    return bavail * bsize
  } catch (fault) {
    throw asStoreError(fault, folder)
  }
}

/** Whether the free space will do for the readings that are still to come, in words. */
export function judgeDisk(free: number, readingsToCome: number): DiskState {
  const need = readingsToCome * BYTES_PER_READING
  const amounts = `${inWords(free)} free, ${inWords(need)} needed`
  if (free < need)
    return {
      freeBytes: free,
      level: 'short',
      words: `The disk is too full for this plan: ${amounts}. Make room first.`,
    }
  if (free < need + HEADROOM_BYTES)
    return { freeBytes: free, level: 'low', words: `The disk is nearly full: ${amounts}. Make room soon.` }
  return { freeBytes: free, level: 'fine', words: `${inWords(free)} free.` }
}

function inWords(bytes: number): string {
  const units = ['bytes', 'kB', 'MB', 'GB', 'TB']
  let value = bytes
  let unit = 0
  while (value >= 1000 && unit < units.length - 1) {
    value /= 1000
    unit++
  }
  return `${unit === 0 ? value : value.toPrecision(3)} ${units[unit]}`
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
      fd = openSync(this.path, 'w')
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
