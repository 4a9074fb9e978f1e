import { copyFileSync, existsSync, mkdirSync, readdirSync, rmSync } from 'node:fs'
import { basename, dirname, join } from 'node:path'
import Database from 'better-sqlite3'
import type { Clock } from '../../../app/base/clock.ts'
import { asStoreError, StoreError } from '../errors.ts'
import { backupSession, type CopyResult } from '../export/copy.ts'
import { syncFolder } from '../export/file.ts'
import { renameWhole } from '../rename-whole.ts'
import type { StationStore } from '../station-store.ts'
import { hashOfFile, type Manifest, readManifest, writeManifest } from './manifest.ts'

/** Copied in a backup besides sessions and profiles. */
export const STATION_FILE = 'station.db'
export const PROFILES = 'profiles'

const PAGES_AT_ONCE = 2000
type LedgerEnd = NonNullable<Manifest['station']>['ledger']
type Cancel = Pick<AbortSignal, 'throwIfAborted'>

export interface BackupParts {
  readonly store: StationStore
  readonly clock: Pick<Clock, 'now'>
  /** Backup folder. */
  readonly folder: string
  /** Copies a session into the folder; by a thread where one measures beside. */
  readonly copy?: (source: string, folder: string) => Promise<CopyResult>
  readonly signal?: Cancel
}

/** The folder must be there (a disk that is not connected is not made), and must hold no other station's backup. */
export function ownManifest(store: StationStore, folder: string): Manifest {
  if (!existsSync(folder))
    throw new StoreError('not-found', `The backup folder ${folder} is not there. Is its disk connected?`, {
      folder,
    })
  const manifest = readManifest(folder)
  const end = manifest.station?.ledger
  if (end && end.n > 0 && ledgerHash(store, end.n) !== end.hash)
    throw new StoreError(
      'refused',
      `${folder} holds the backup of another station, or of a later state of this one. Choose an empty folder, so that nothing of it is lost.`,
      { folder },
    )
  return manifest
}

/** Head of a session's chain as the station knows it. */
const headOf = (store: StationStore, session: string) => store.anchors(session).at(-1)?.head

/** When the copy of a session was made, us of UTC; null where there is none, or it lacks what came later. */
export function copiedUtcUs(store: StationStore, manifest: Manifest, session: string): number | null {
  const kept = manifest.sessions[basename(store.sessionPath(session))]
  return kept !== undefined && kept.head === headOf(store, session) ? kept.madeUtcUs : null
}

/** Copies one session into the backup folder and notes it there. */
export async function backUpSession(parts: BackupParts, session: string): Promise<CopyResult> {
  const { store, folder, clock, copy = backupSession, signal } = parts
  ownManifest(store, folder)
  const source = store.sessionPath(session)
  const result = await copy(source, folder)
  signal?.throwIfAborted()
  const { sha256, bytes } = hashOfFile(result.path)
  const manifest = readManifest(folder)
  const { head, readings } = result
  manifest.sessions[basename(source)] = { sha256, bytes, madeUtcUs: clock.now().utcUs, head, readings }
  writeManifest(folder, manifest)
  return result
}

/** Whether station.db has changed since its copy was made. */
export function stationIsCopied(store: StationStore, manifest: Manifest): boolean {
  const end = ledgerEnd(store)
  return manifest.station?.ledger.n === end.n && manifest.station.ledger.hash === end.hash
}

/** Copies register, ledger, people, settings and profiles into the backup folder; the copy's ledger is walked before it counts. */
export async function backUpStation({ store, folder, clock, signal }: BackupParts): Promise<void> {
  ownManifest(store, folder)
  const target = join(folder, STATION_FILE)
  const part = `${target}.${process.pid}.part`
  const removePart = () => {
    for (const suffix of ['', '-wal', '-shm', '-journal']) rmSync(part + suffix, { force: true })
  }
  try {
    removePart()
    await store.database.backup(part, {
      progress: () => {
        signal?.throwIfAborted()
        return PAGES_AT_ONCE
      },
    })
    const copy = new Database(part)
    let ledger: LedgerEnd
    try {
      // One file that can be carried away: no write-ahead log beside it.
      copy.pragma('journal_mode = DELETE')
      const check = copy.pragma('integrity_check', { simple: true })
      if (check !== 'ok')
        throw new StoreError(
          'damaged',
          `The copy of ${STATION_FILE} is not whole, so it was not kept: ${String(check)}`,
          {
            target,
          },
        )
      const last = copy.prepare('SELECT n, hash FROM ledger ORDER BY n DESC LIMIT 1').get()
      ledger = (last as LedgerEnd | undefined) ?? { n: 0, hash: '' }
    } finally {
      copy.close()
    }
    renameWhole(part, target)
    const profiles = backUpProfiles(store.folder, folder, clock.now().utcUs)
    syncFolder(dirname(target))
    const station = { ...hashOfFile(target), madeUtcUs: clock.now().utcUs, ledger }
    writeManifest(folder, { ...readManifest(folder), station, profiles })
  } catch (fault) {
    signal?.throwIfAborted()
    throw asStoreError(fault, target)
  } finally {
    removePart()
  }
}

function backUpProfiles(from: string, folder: string, madeUtcUs: number): Manifest['profiles'] {
  const source = join(from, PROFILES)
  if (!existsSync(source)) return {}
  const target = join(folder, PROFILES)
  mkdirSync(target, { recursive: true })
  const kept: Manifest['profiles'] = {}
  for (const name of readdirSync(source).filter((file) => file.endsWith('.json'))) {
    const part = join(target, `${name}.part`)
    copyFileSync(join(source, name), part)
    renameWhole(part, join(target, name))
    kept[name] = { ...hashOfFile(join(target, name)), madeUtcUs }
  }
  return kept
}

export interface BackupDone {
  readonly copied: number
  readonly unchanged: number
  /** Sessions that could not be copied, and why. */
  readonly left: readonly { session: string; words: string }[]
}

/** Brings a whole backup up to date: every session that is not in it as it stands, then the station's own records. */
export async function backUpAll(
  parts: BackupParts,
  onSession?: (session: string) => void,
): Promise<BackupDone> {
  const { store, folder, signal } = parts
  const before = ownManifest(store, folder)
  const left: { session: string; words: string }[] = []
  let copied = 0
  let unchanged = 0
  for (const { info, damaged } of store.sessions('', Number.MAX_SAFE_INTEGER)) {
    signal?.throwIfAborted()
    if (damaged !== null) left.push({ session: info.id, words: damaged })
    else if (info.endedUtcUs !== null && copiedUtcUs(store, before, info.id) !== null) unchanged += 1
    else {
      onSession?.(info.id)
      try {
        await backUpSession(parts, info.id)
        copied += 1
      } catch (fault) {
        if (!(fault instanceof StoreError) || fault.code !== 'damaged') throw fault
        left.push({ session: info.id, words: fault.message })
      }
    }
  }
  await backUpStation(parts)
  return { copied, unchanged, left }
}

function ledgerEnd(store: StationStore): LedgerEnd {
  const newest = store.ledger({ most: 1 }).rows[0]
  return newest ? { n: newest.n, hash: newest.hash } : { n: 0, hash: '' }
}

function ledgerHash(store: StationStore, n: number): string | undefined {
  const { total } = store.ledger({ most: 1 })
  return n > total ? undefined : store.ledger({ from: total - n, most: 1 }).rows[0]?.hash
}
