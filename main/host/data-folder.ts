import { homedir } from 'node:os'
import { join } from 'node:path'

/** Where a station keeps its data when nobody says otherwise: the system's usual place for a program's own files. */
export function defaultDataFolder(environment: NodeJS.ProcessEnv = process.env): string {
  const home = homedir()
  if (process.platform === 'win32')
    return join(environment.APPDATA ?? join(home, 'AppData/Roaming'), 'Stillpoint', 'station')
  if (process.platform === 'darwin') return join(home, 'Library/Application Support/Stillpoint/station')
  return join(environment.XDG_DATA_HOME ?? join(home, '.local/share'), 'stillpoint')
}
