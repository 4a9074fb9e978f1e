import { statSync } from 'node:fs'
import { basename, join } from 'node:path'
import type { Clock, Disposable } from '../../app/base/clock.ts'
import { counted } from '../../app/base/plural.ts'
import type { Station } from '../station/station.ts'
import { StationError } from '../station/station-error.ts'
import type { SessionReader } from '../store/reader.ts'
import type { StationStore } from '../store/station-store.ts'

export interface BackupParts {
  readonly station: Station
  readonly store: StationStore
  readonly reader: SessionReader
  readonly clock: Clock
  /** The folder chosen in the settings; null for none. */
  readonly folder: () => string | null
}

/** How long after a copy that failed it is tried again, ms: a disk that was unplugged, a share that was away. */
const AGAIN_MS = 600_000
/** Sessions looked at, newest first. */
const LOOK_BACK = 1_000
const ALARM = 'backup'

/**
 * Keeps a verified copy of every ended session in the backup folder: made when a session ends, and again when it has
 * been added to since (a note, a sign-off). A copy that cannot be made raises an alarm and is tried again.
 */
export class BackupDesk {
  readonly #p: BackupParts
  readonly #listening: Disposable
  #seen = ''
  #again: Disposable | undefined
  #turn: Promise<void> = Promise.resolve()
  readonly #ended = new AbortController()

  constructor(parts: BackupParts) {
    this.#p = parts
    this.#listening = parts.station.onDidChange.on(() => this.#look())
    this.#look()
  }

  /** Copies one session now and says in words what was done. Throws StationError 'refused' where no folder is chosen. */
  async copy(session: string): Promise<string> {
    const folder = this.#p.folder()
    if (folder === null) {
      throw new StationError('refused', 'No backup folder is set. Choose one in the settings first.')
    }
    const { store, reader } = this.#p
    const { path, readings } = await reader
      .long(this.#ended.signal)
      .backup(store.sessionPath(session), folder)
    return `Copied to ${path} and verified: ${counted(readings, 'reading')}.`
  }

  /** When the copy of a session was made, us of UTC; null where there is none, or it lacks what came later. */
  copiedUtcUs(session: string): number | null {
    const folder = this.#p.folder()
    if (folder === null) return null
    const source = this.#p.store.sessionPath(session)
    const made = changedMs(join(folder, basename(source)))
    return made !== undefined && made >= (changedMs(source) ?? Number.POSITIVE_INFINITY) ? made * 1000 : null
  }

  /** Resolves when every ended session has its copy, or one could not be made. */
  async caughtUp(): Promise<void> {
    this.#look()
    await this.#turn
  }

  async close(): Promise<void> {
    this.#listening.dispose()
    this.#again?.dispose()
    this.#ended.abort(new Error('the station is closing'))
    await this.#turn
  }

  #look(): void {
    const { sessions, points, settings } = this.#p.station.versions
    const seen = [sessions, points, settings].join(' ')
    if (seen === this.#seen) return
    this.#seen = seen
    this.#catchUp()
  }

  #catchUp(): void {
    this.#again?.dispose()
    this.#again = undefined
    this.#turn = this.#turn.then(() => this.#copyAll())
  }

  async #copyAll(): Promise<void> {
    const { store, station, clock } = this.#p
    if (this.#p.folder() === null) {
      station.alarms.end(ALARM)
      return
    }
    try {
      for (const { info, damaged } of store.sessions('', LOOK_BACK)) {
        if (info.endedUtcUs === null || damaged !== null || this.copiedUtcUs(info.id) !== null) continue
        if (this.#ended.signal.aborted) return
        await this.copy(info.id)
      }
      station.alarms.end(ALARM)
    } catch (fault) {
      if (this.#ended.signal.aborted) return
      station.alarms.raise({
        key: ALARM,
        kind: 'disk',
        severity: 'warning',
        subject: null,
        words: `A session could not be copied to the backup folder: ${(fault as Error).message} It is tried again every ten minutes.`,
      })
      this.#again = clock.after(AGAIN_MS, () => this.#catchUp())
    }
  }
}

/** When a file, or what its write-ahead log holds, was last changed, ms since 1970; undefined where there is no file. */
function changedMs(path: string): number | undefined {
  const file = statSync(path, { throwIfNoEntry: false })
  if (!file) return undefined
  // Whoever opens the file for reading makes an empty log beside it.
  const log = statSync(`${path}-wal`, { throwIfNoEntry: false })
  return log && log.size > 0 ? Math.max(file.mtimeMs, log.mtimeMs) : file.mtimeMs
}
