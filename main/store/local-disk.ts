import { existsSync, realpathSync, statfsSync } from 'node:fs'
import { dirname, resolve } from 'node:path'
import { said } from '../../app/messages/said.ts'
import { StoreError } from './errors.ts'

/** File systems of the network by their statfs number (Linux, include/uapi/linux/magic.h; CIFS and SMB2 from fs/smb). */
const NETWORK_FILE_SYSTEMS: Readonly<Record<number, string>> = {
  26985: 'NFS',
  20859: 'SMB',
  4283649346: 'CIFS',
  4266872130: 'SMB',
}

export interface DiskParts {
  readonly platform?: NodeJS.Platform
  /** The path behind names that stand for others; on Windows a mapped drive's is that of its share. */
  readonly realPath?: (path: string) => string
  readonly fileSystem?: (path: string) => number
}

/**
 * Refuses a data folder on a share: SQLite's write-ahead log needs memory that all its users have in common, which
 * computers do not (sqlite.org, wal.html), and a night must not hang on the network. A backup folder may be one.
 * Throws StoreError 'refused'.
 */
export function refuseShare(folder: string, parts: DiskParts = {}): void {
  const { platform = process.platform, realPath = (path) => realpathSync.native(path) } = parts
  const { fileSystem = (path) => statfsSync(path).type } = parts
  const there = nearest(resolve(folder))
  const share =
    platform === 'win32'
      ? [folder, realPath(there)].some(isUnc) && 'a share of the network'
      : platform === 'linux' && NETWORK_FILE_SYSTEMS[fileSystem(there) >>> 0]
  if (share) throw new StoreError('refused', said('folder-on-share', { folder, share }), { folder })
}

/** `\\server\share` and `\\?\UNC\server\share`; `\\?\C:\` and `\\.\` are of this computer. */
const isUnc = (path: string) => /^[\\/]{2}(\?[\\/]UNC[\\/]|[^\\/?.][^\\/]*[\\/])/i.test(path)

/** The folder itself, or the nearest one above it that is there. */
function nearest(folder: string): string {
  let at = folder
  while (!existsSync(at) && dirname(at) !== at) at = dirname(at)
  return at
}
