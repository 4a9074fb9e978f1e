import { copyFileSync, existsSync, readdirSync } from 'node:fs'
import { basename, join } from 'node:path'
import type { Clock } from '../../../app/base/clock.ts'
import { said } from '../../../app/messages/said.ts'
import { StoreError } from '../errors.ts'
import { backupSession, type CopyResult, copyStation } from '../export/copy.ts'
import { hashOfFile } from '../hash-of-file.ts'
import { keepPrivate, privateFolder } from '../private.ts'
import { renameWhole } from '../rename-whole.ts'
import type { StationStore } from '../station-store.ts'
import { type Manifest, readManifest, writeManifest } from './manifest.ts'
import { backUpOtherFiles } from './other-files.ts'

/** Copied in a backup besides sessions and profiles. */
export const STATION_FILE = 'station.db'
export const PROFILES = 'profiles'

type LedgerEnd = NonNullable<Manifest['station']>['ledger']

export interface BackupParts {
  readonly store: StationStore
  readonly clock: Pick<Clock, 'now'>
  /** Backup folder. */
  readonly folder: string
  /** Copies a session into the folder; by a thread where one measures beside. */
  readonly copy?: (source: string, folder: string) => Promise<CopyResult>
  /** The same for station.db, whose copy's path is given. */
  readonly copyOwn?: typeof copyStation
  /** The same for the files of the data folder beside both. */
  readonly copyOthers?: (data: string, folder: string) => Promise<number> | number
  readonly signal?: Pick<AbortSignal, 'throwIfAborted'>
}

/** The folder must be there (a disk that is not connected is not made), and must hold no other station's backup. */
export function ownManifest(store: StationStore, folder: string): Manifest {
  if (!existsSync(folder))
    throw new StoreError('not-found', said('backup-folder-missing', { folder }), {
      folder,
    })
  const manifest = readManifest(folder)
  const end = manifest.station?.ledger
  if (end && end.n > 0 && store.ledgerEntry(end.n)?.hash !== end.hash)
    throw new StoreError('refused', said('backup-of-another-station', { folder }), { folder })
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
  const manifest = readManifest(folder)
  const { head, readings, sha256, bytes } = result
  manifest.sessions[basename(source)] = { sha256, bytes, madeUtcUs: clock.now().utcUs, head, readings }
  writeManifest(folder, manifest)
  return result
}

/** Whether station.db has changed since its copy was made. */
export function stationIsCopied(store: StationStore, manifest: Manifest): boolean {
  const end = ledgerEnd(store)
  return manifest.station?.ledger.n === end.n && manifest.station.ledger.hash === end.hash
}

/**
 * Copies register, ledger, people, settings, orders, profiles and what lies beside them into the backup folder; the copy's
 * ledger is walked before it counts.
 */
export async function backUpStation(parts: BackupParts): Promise<void> {
  const { store, folder, clock, copyOwn = copyStation, copyOthers = backUpOtherFiles, signal } = parts
  ownManifest(store, folder)
  const { sha256, bytes, ledger } = await copyOwn(store.database.name, join(folder, STATION_FILE))
  signal?.throwIfAborted()
  const madeUtcUs = clock.now().utcUs
  const profiles = backUpProfiles(store.folder, folder, madeUtcUs)
  writeManifest(folder, {
    ...readManifest(folder),
    station: { sha256, bytes, madeUtcUs, ledger },
    profiles,
  })
  await copyOthers(store.folder, folder)
}

function backUpProfiles(from: string, folder: string, madeUtcUs: number): Manifest['profiles'] {
  const source = join(from, PROFILES)
  if (!existsSync(source)) return {}
  const target = join(folder, PROFILES)
  privateFolder(target)
  const kept: Manifest['profiles'] = {}
  for (const name of readdirSync(source).filter((file) => file.endsWith('.json'))) {
    const part = join(target, `${name}.part`)
    copyFileSync(join(source, name), part)
    keepPrivate(part)
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
  const ended = new Set(store.sessionIds('ended'))
  for (const session of store.sessionIds()) {
    signal?.throwIfAborted()
    if (ended.has(session) && copiedUtcUs(store, before, session) !== null) {
      unchanged += 1
      continue
    }
    onSession?.(session)
    try {
      await backUpSession(parts, session)
      copied += 1
    } catch (fault) {
      if (!(fault instanceof StoreError) || fault.code !== 'damaged') throw fault
      left.push({ session, words: fault.message })
    }
  }
  await backUpStation(parts)
  return { copied, unchanged, left }
}

function ledgerEnd(store: StationStore): LedgerEnd {
  const [newest] = store.ledger({ most: 1 })
  return newest ? { n: newest.n, hash: newest.hash } : { n: 0, hash: '' }
}
