import { existsSync, statSync } from 'node:fs'
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
/** Copies looked for between two turns of the loop. */
const LOOKS_AT_ONCE = 50
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
    let failed = 0
    let first = ''
    // In pieces: looking whether 5,000 copies are there would hold up the loop that measures.
    for (const [looked, id] of store.sessionIds('ended').entries()) {
      if (looked % LOOKS_AT_ONCE === LOOKS_AT_ONCE - 1) await new Promise((resolve) => setImmediate(resolve))
      if (this.#ended.signal.aborted) return
      if (this.copiedUtcUs(id) !== null) continue
      try {
        await this.copy(id)
      } catch (fault) {
        if (this.#ended.signal.aborted) return
        failed += 1
        first ||= (fault as Error).message
        // One session that cannot be copied keeps no other from it; a folder that is away does.
        if (!existsSync(this.#p.folder() ?? '')) break
      }
    }
    if (failed === 0) {
      station.alarms.end(ALARM)
      return
    }
    station.alarms.raise({
      key: ALARM,
      kind: 'disk',
      severity: 'warning',
      subject: null,
      words: `${failed === 1 ? 'A session' : `${failed} sessions`} could not be copied to the backup folder: ${first} It is tried again every ten minutes.`,
    })
    this.#again = clock.after(AGAIN_MS, () => this.#catchUp())
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
