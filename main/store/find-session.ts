import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { said } from '../../app/messages/said.ts'
import { StoreError } from './errors.ts'
import { sessionFilePath } from './session-list.ts'
import { type Anchor, openStationStore } from './station-store.ts'

export interface NamedSession {
  path: string
  /** Heads the station noted of its chain; none where the session stands alone. */
  anchors: Anchor[]
}

/** A session by the path of its file, or by its id within a data folder. Throws StoreError 'not-found'. */
export function findSession(nameOrPath: string, dataFolder?: string): NamedSession {
  const inFolder = dataFolder !== undefined && /^[\w.-]+$/.test(nameOrPath) && !nameOrPath.includes('..')
  const path = inFolder ? sessionFilePath(dataFolder, nameOrPath) : nameOrPath
  if (existsSync(path)) {
    const noted = inFolder && existsSync(join(dataFolder, 'station.db'))
    return { path, anchors: noted ? anchorsOf(dataFolder, nameOrPath) : [] }
  }
  if (inFolder && existsSync(nameOrPath)) return { path: nameOrPath, anchors: [] }
  throw new StoreError(
    'not-found',
    dataFolder === undefined
      ? said('no-session-file', { nameOrPath })
      : said('no-session-in-folder', { nameOrPath, dataFolder }),
    { nameOrPath, dataFolder },
  )
}

function anchorsOf(folder: string, id: string): Anchor[] {
  const store = openStationStore(folder, { mode: 'read', clock: { now: () => ({ utcUs: 0, monoUs: 0 }) } })
  try {
    return store.anchors(id)
  } finally {
    store.close()
  }
}
