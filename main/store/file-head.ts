import { closeSync, existsSync, fstatSync, openSync, readSync } from 'node:fs'

const BYTES = 100
/** Places in the first hundred bytes of a file, and what SQLite writes there in every file of ours. */
const FIXED: readonly (readonly [at: number, bytes: readonly number[], what: string])[] = [
  [0, [...Buffer.from('SQLite format 3\0', 'latin1')], 'it does not begin as a database of SQLite does'],
  [20, [0], 'its pages say they keep room back'],
  [21, [64, 32, 32], 'the fractions of its pages are not those of SQLite'],
  [44, [0, 0, 0, 4], 'the format of its schema is not 4'],
  [48, [0, 0, 0, 0], 'it asks for a cache of its own'],
  [52, [0, 0, 0, 0], 'it says that it shrinks by itself'],
  [56, [0, 0, 0, 1], 'its texts are not in UTF-8'],
  [64, [0, 0, 0, 0], 'it says that it shrinks step by step'],
  [72, Array.from({ length: 20 }, () => 0), 'there is something in the bytes that stand for nothing'],
]

/**
 * What is wrong with the first hundred bytes of a database file, in words; SQLite passes over much of it, and other readers do
 * not. https://www.sqlite.org/fileformat2.html, 1.3. What a write-ahead log may still change is not looked at beside one.
 */
export function headBreak(path: string): string | undefined {
  const file = openSync(path, 'r')
  try {
    const head = Buffer.alloc(BYTES)
    const { size } = fstatSync(file)
    if (readSync(file, head, 0, BYTES, 0) < BYTES) return 'it is shorter than its own head'
    const logged = existsSync(`${path}-wal`)
    for (const [at, bytes, what] of FIXED) {
      const found = head.subarray(at, at + bytes.length)
      // The description of a young file may still lie in its log alone; the file itself then has nothing there.
      if (logged && found.every((byte) => byte === 0)) continue
      if (!found.equals(Uint8Array.from(bytes))) return what
    }
    const raw = head.readUInt16BE(16)
    const pageSize = raw === 1 ? 65_536 : raw
    const kinds = [head[18], head[19]]
    if (kinds[0] !== kinds[1] || (kinds[0] !== 1 && kinds[0] !== 2)) return 'its way of writing is unknown'
    if (logged) return undefined
    if (head.readUInt32BE(28) * pageSize !== size) return 'it says that it has another size than it has'
    if (head.readUInt32BE(24) !== head.readUInt32BE(92)) return 'its counts of changes do not agree'
    return undefined
  } finally {
    closeSync(file)
  }
}
