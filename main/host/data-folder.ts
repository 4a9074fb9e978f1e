import { existsSync } from 'node:fs'
import { homedir } from 'node:os'
import { posix, win32 } from 'node:path'

/**
 * Where a station keeps its data when nobody says otherwise: the system's usual place for a program's own files.
 * STILLPOINT_DATA names another. On Windows it is the local part of the profile: the roaming part may lie on a share,
 * where SQLite cannot keep a write-ahead log; a folder that an earlier version made there is taken up.
 */
export function defaultDataFolder(
  environment: NodeJS.ProcessEnv = process.env,
  platform: NodeJS.Platform = process.platform,
  exists: (path: string) => boolean = existsSync,
): string {
  const home = homedir()
  if (environment.STILLPOINT_DATA) return environment.STILLPOINT_DATA
  if (platform === 'win32') {
    const { join } = win32
    const local = join(environment.LOCALAPPDATA ?? join(home, 'AppData/Local'), 'Stillpoint', 'station')
    const roaming = join(environment.APPDATA ?? join(home, 'AppData/Roaming'), 'Stillpoint', 'station')
    return !exists(local) && exists(roaming) ? roaming : local
  }
  const { join } = posix
  if (platform === 'darwin') return join(home, 'Library/Application Support/Stillpoint/station')
  return join(environment.XDG_DATA_HOME ?? join(home, '.local/share'), 'stillpoint')
}
