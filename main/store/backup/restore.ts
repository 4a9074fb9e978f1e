import { copyFileSync, existsSync, readdirSync, rmSync } from 'node:fs'
import { dirname, join, resolve, sep } from 'node:path'
import type { Clock } from '../../../app/base/clock.ts'
import { said } from '../../../app/messages/said.ts'
import { StoreError } from '../errors.ts'
import { syncFolder } from '../export/file.ts'
import { hashOfFile } from '../hash-of-file.ts'
import { keepPrivate, privateFolder } from '../private.ts'
import { renameWhole } from '../rename-whole.ts'
import { SESSION_EXTENSION, type Sketch, sessionFolder } from '../session-list.ts'
import { openStationStore } from '../station-store.ts'
import { verifySession } from '../verify.ts'
import { PROFILES, STATION_FILE } from './back-up.ts'
import { type KeptFile, readManifest } from './manifest.ts'
import { readOtherFiles } from './other-files.ts'

export interface RestoreOptions {
  readonly clock: Pick<Clock, 'now'>
  readonly sketch?: Sketch
  /** Files of the backup that are not what was copied are left out, and told of, in place of refusing all. */
  readonly leaveOutDamaged?: boolean
  readonly onFile?: (name: string) => void
}

export interface Restored {
  readonly sessions: number
  /** Whether register, ledger, people and settings came with it; otherwise they were taken from the sessions. */
  readonly station: boolean
  readonly words: readonly string[]
}

/**
 * Makes a data folder of a backup. Never over anything: the folder must be new or empty. Every file is held against the
 * hash that was noted when it was copied, every session against the head of its chain, and the ledger is walked; the
 * folder takes its name only when all of it is there. Throws StoreError.
 */
export function restoreStation(from: string, to: string, options: RestoreOptions): Restored {
  const target = resolve(to)
  refuseUsed(target, resolve(from))
  const manifest = readManifest(from)
  const others = readOtherFiles(from)
  const sessions = sessionsIn(from)
  if (manifest.station === null && sessions.length === 0)
    throw new StoreError('not-found', said('no-backup-there', { from, file: STATION_FILE }), {
      from,
    })
  const part = `${target}.${process.pid}.part`
  const words: string[] = []
  const take = (name: string, kept: Pick<KeptFile, 'sha256'> | undefined, into: string): boolean => {
    options.onFile?.(name)
    const trouble = complaint(join(from, name), name, kept)
    if (trouble === undefined) {
      privateFolder(dirname(into))
      copyFileSync(join(from, name), into)
      keepPrivate(into)
      return true
    }
    if (!options.leaveOutDamaged)
      throw new StoreError('damaged', said('restore-trouble', { trouble }), {
        name,
      })
    words.push(`${trouble} It was left out.`)
    return false
  }
  try {
    rmSync(part, { recursive: true, force: true })
    privateFolder(part)
    privateFolder(sessionFolder(part))
    const station =
      manifest.station !== null && take(STATION_FILE, manifest.station, join(part, STATION_FILE))
    for (const [name, kept] of Object.entries(manifest.profiles))
      take(`${PROFILES}/${name}`, kept, join(part, PROFILES, name))
    for (const [name, kept] of Object.entries(others.files)) take(name, kept, join(part, name))
    if (others.signingKey)
      words.push(
        'The key that certificates are signed with is in no backup: take it in again with stillpoint key import FILE.p12.',
      )
    let taken = 0
    for (const name of sessions) {
      const into = join(sessionFolder(part), name)
      const kept = manifest.sessions[name]
      if (!take(name, kept, into)) continue
      const found = breakOf(into, kept?.head)
      if (found !== undefined) {
        if (!options.leaveOutDamaged)
          throw new StoreError('damaged', said('restore-found', { name, found }), { name })
        words.push(`${name}: ${found} It was left out.`)
        rmSync(into)
      } else taken += 1
    }
    for (const name of Object.keys(manifest.sessions))
      if (!sessions.includes(name)) words.push(`${name} is named in the backup and is not there.`)
    words.push(...putTogether(part, station, manifest.station?.ledger.hash, options))
    renameWhole(part, target)
    syncFolder(dirname(target))
    return { sessions: taken, station, words }
  } finally {
    rmSync(part, { recursive: true, force: true })
  }
}

/** Opens what was restored once: an older form is brought up to date, sessions that station.db does not list are listed. */
function putTogether(
  folder: string,
  station: boolean,
  ledgerHead: string | undefined,
  { clock, sketch }: RestoreOptions,
): string[] {
  const store = openStationStore(folder, { clock, makeAnew: !station, ...(sketch && { sketch }) })
  try {
    const { whole, head, firstBreak } = store.verifyLedger()
    if (station && (!whole || (ledgerHead !== '' && head !== ledgerHead)))
      throw new StoreError('damaged', said('backup-ledger-broken', { firstBreak: firstBreak ?? '' }), {
        folder,
      })
    const listed = new Set(store.sessionIds())
    const unlisted = !sessionsIn(sessionFolder(folder)).every((name) =>
      listed.has(name.slice(0, -SESSION_EXTENSION.length)),
    )
    const words = !station || unlisted ? store.rebuild('restore') : []
    store.appendLedger({
      who: 'restore',
      what: 'restored',
      subject: 'station',
      old: null,
      new: null,
      why: words.join(' '),
    })
    return words
  } finally {
    store.close()
  }
}

function refuseUsed(target: string, from: string): void {
  if (target === from || target.startsWith(from + sep))
    throw new StoreError('refused', said('restore-into-backup', { target }), {
      target,
    })
  if (existsSync(target) && readdirSync(target).length > 0)
    throw new StoreError('exists', said('restore-folder-not-empty', { target }), { target })
  if (existsSync(target)) rmSync(target, { recursive: true })
}

const sessionsIn = (folder: string) =>
  existsSync(folder)
    ? readdirSync(folder)
        .filter((name) => name.endsWith(SESSION_EXTENSION))
        .sort()
    : []

/** What is wrong with a restored session, in words: its chain is broken or, where a head was noted, ends in another one. */
function breakOf(path: string, noted: string | undefined): string | undefined {
  const { whole, head, words } = verifySession(path)
  if (!whole) return words
  if (noted === undefined || noted === head) return undefined
  return said('restore-other-session', { head, kept: noted }).words
}

function complaint(
  path: string,
  name: string,
  kept: Pick<KeptFile, 'sha256'> | undefined,
): string | undefined {
  if (!existsSync(path)) return `${name} is missing from the backup.`
  // A copy from before backups kept hashes: its own chain is all that speaks for it.
  if (!kept) return undefined
  return hashOfFile(path).sha256 === kept.sha256 ? undefined : `${name} is not what was copied there.`
}
