import { at } from '../../../app/base/lists.ts'
import { genesis } from '../chain.ts'
import type { SessionFile } from '../session-file.ts'
import { readHead } from '../session-head.ts'

/**
 * UUID of the station that a session is of. A session of before knows none: it gets one of its own from the hash of its
 * setup, the same wherever the file lies (RFC 9562, version 8).
 */
export function stationOf(file: SessionFile): string {
  const { station } = file.info
  if (station !== undefined) return station
  const { info, setup } = readHead(file.database)
  const bytes = genesis(info, setup).subarray(0, 16)
  bytes[6] = 0x80 | (at(bytes, 6) & 0x0f)
  bytes[8] = 0x80 | (at(bytes, 8) & 0x3f)
  const hex = bytes.toString('hex')
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join('-')
}
