import { existsSync } from 'node:fs'
import type { Clock, Disposable } from '../../app/base/clock.ts'
import { counted } from '../../app/base/plural.ts'
import { said } from '../../app/messages/said.ts'
import type { Station } from '../station/station.ts'
import { StationError } from '../station/station-error.ts'
import {
  backUpAll,
  backUpSession,
  backUpStation,
  copiedUtcUs,
  ownManifest,
  type BackupParts as StoreParts,
  stationIsCopied,
} from '../store/backup/back-up.ts'
import { type Manifest, readManifest } from '../store/backup/manifest.ts'
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
/** The station's own records are copied no more often than this while they change, ms. */
const STATION_EVERY_MS = 600_000
const ALARM = 'backup'

/**
 * Keeps the backup folder up to date: a verified copy of every ended session, made when it ends and again when it has been
 * added to since (a note, a sign-off), and of the station's own records when they have changed. What is up to date is told
 * by hashes and by no clock. A copy that cannot be made raises an alarm and is tried again.
 */
export class BackupDesk {
  readonly #p: BackupParts
  readonly #listening: Disposable
  #seen = ''
  #again: Disposable | undefined
  #turn: Promise<void> = Promise.resolve()
  readonly #ended = new AbortController()
  /** When the files beside station.db were looked through last, on the monotonic count, ms. */
  #othersMs = Number.NEGATIVE_INFINITY

  constructor(parts: BackupParts) {
    this.#p = parts
    this.#listening = parts.station.onDidChange.on(() => this.#look())
    this.#look()
  }

  /** Copies one session now and says in words what was done. Throws StationError 'refused' where no folder is chosen. */
  async copy(session: string): Promise<string> {
    const { path, readings } = await backUpSession(this.#to(this.#needFolder()), session)
    return `Copied to ${path} and verified: ${counted(readings, 'reading')}.`
  }

  /** Brings the whole backup up to date now and says in words what was done. */
  async copyAll(): Promise<string> {
    const folder = this.#needFolder()
    const { copied, unchanged, left } = await backUpAll(this.#to(folder))
    const lacking = left.map(({ session, words }) => ` ${session} was not copied: ${words}`)
    return `${folder}: ${counted(copied, 'session')} copied and verified, ${unchanged} unchanged, and the station's own records.${lacking.join('')}`
  }

  /** Makes a new data folder of a backup and says how a station is started on it. */
  async restore(from: string, to: string): Promise<string> {
    const { reader, clock } = this.#p
    const { sessions, station, words } = await reader
      .long(this.#ended.signal)
      .restore(from, to, clock.now().utcUs)
    const own = station ? "the station's own records" : 'register and benches as the sessions have them'
    const done = `${to}: ${counted(sessions, 'session')} and ${own}, restored and verified. Start a station on it with --data, or with STILLPOINT_DATA set to it.`
    return [...words, done].join(' ')
  }

  /** When the copy of a session was made, us of UTC; null where there is none, or it lacks what came later. */
  copiedUtcUs(session: string): number | null {
    const folder = this.#p.folder()
    const manifest = folder === null ? undefined : manifestOf(folder)
    return manifest ? copiedUtcUs(this.#p.store, manifest, session) : null
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
    const attempt = async (copy: () => Promise<unknown>) => {
      try {
        await copy()
      } catch (fault) {
        failed += 1
        first ||= (fault as Error).message
      }
    }
    const folder = this.#p.folder()!
    let manifest: Manifest | undefined
    await attempt(async () => {
      manifest = ownManifest(store, folder)
    })
    // In pieces: looking whether 5,000 copies are there would hold up the loop that measures.
    for (const [looked, id] of (manifest ? store.sessionIds('ended') : []).entries()) {
      if (looked % LOOKS_AT_ONCE === LOOKS_AT_ONCE - 1) await new Promise((resolve) => setImmediate(resolve))
      if (this.#ended.signal.aborted) return
      if (copiedUtcUs(store, manifest!, id) !== null) continue
      await attempt(() => this.copy(id))
      // One session that cannot be copied keeps no other from it; a folder that is away does.
      if (!existsSync(folder)) break
    }
    if (manifest && existsSync(folder)) await attempt(() => this.#copyStation(folder))
    if (this.#ended.signal.aborted) return
    if (failed === 0) {
      station.alarms.end(ALARM)
      return
    }
    station.alarms.raise({
      key: ALARM,
      kind: 'disk',
      severity: 'warning',
      subject: null,
      said: failed > 1 ? said('backup-behind-often', { first, failed }) : said('backup-behind', { first }),
    })
    this.#again = clock.after(AGAIN_MS, () => this.#catchUp())
  }

  /** Records change with every keystroke of a register's day: a copy of all of them is made now and then. */
  async #copyStation(folder: string): Promise<void> {
    const { store, clock } = this.#p
    const manifest = readManifest(folder)
    if (stationIsCopied(store, manifest)) {
      await this.#copyOthers(folder)
      return
    }
    const madeUtcUs = manifest.station?.madeUtcUs ?? 0
    const waitMs = STATION_EVERY_MS - (clock.now().utcUs - madeUtcUs) / 1000
    if (waitMs > 0 && waitMs <= STATION_EVERY_MS) this.#again = clock.after(waitMs, () => this.#catchUp())
    else await backUpStation(this.#to(folder))
  }

  /** Certificates and templates change without a line in the ledger (a time stamp that came later, a file put there by hand). */
  async #copyOthers(folder: string): Promise<void> {
    const { store, clock, reader } = this.#p
    const waitMs = this.#othersMs + STATION_EVERY_MS - clock.now().monoUs / 1000
    if (waitMs > 0) {
      this.#again = clock.after(waitMs, () => this.#catchUp())
      return
    }
    this.#othersMs = clock.now().monoUs / 1000
    await reader.long(this.#ended.signal).backupOthers(store.folder, folder)
  }

  #to(folder: string): StoreParts {
    const { store, clock, reader } = this.#p
    const { signal } = this.#ended
    return {
      store,
      clock,
      folder,
      signal,
      copy: (source, into) => reader.long(signal).backup(source, into),
      copyOwn: (source, into) => reader.long(signal).backupStation(source, into),
      copyOthers: (data, into) => reader.long(signal).backupOthers(data, into),
    }
  }

  #needFolder(): string {
    const folder = this.#p.folder()
    if (folder === null) throw new StationError('refused', said('no-backup-folder', {}))
    return folder
  }
}

function manifestOf(folder: string): Manifest | undefined {
  try {
    return readManifest(folder)
  } catch {
    // What cannot be read says of no session that it is copied; the alarm says why.
    return undefined
  }
}
