import { createHash } from 'node:crypto'
import { closeSync, openSync, readSync } from 'node:fs'

const AT_ONCE = 1024 * 1024

/** SHA-256 of a file, hexadecimal, and its length. */
export function hashOfFile(path: string): { sha256: string; bytes: number } {
  const hash = createHash('sha256')
  const part = Buffer.allocUnsafe(AT_ONCE)
  const fd = openSync(path, 'r')
  try {
    let bytes = 0
    for (;;) {
      const read = readSync(fd, part)
      if (read === 0) return { sha256: hash.digest('hex'), bytes }
      hash.update(part.subarray(0, read))
      bytes += read
    }
  } finally {
    closeSync(fd)
  }
}
