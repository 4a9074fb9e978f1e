import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { hostname } from 'node:os'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { said } from '../../app/messages/said.ts'
import { asStoreError, StoreError } from './errors.ts'
import { beginPrivate, keepPrivate, PRIVATE_FILE } from './private.ts'

/** Somebody who only asks whether a folder is held has it for a moment, longer on a busy machine: that is waited out, ms. */
const ASKED_MS = 2000

export interface FolderHold {
  release(): void
}

/**
 * Holds a data folder for one station. The hold is an open transaction on a small database, so the operating system
 * itself ends it with the process, however that ends: there is no stale hold to clear. Throws StoreError 'locked'.
 */
export function holdFolder(folder: string): FolderHold {
  const path = join(folder, 'station.hold')
  const holderPath = join(folder, 'station.holder.json')
  let db: Database.Database | undefined
  try {
    mkdirSync(folder, { recursive: true, mode: 0o700 })
    beginPrivate(path)
    db = new Database(path, { timeout: ASKED_MS })
    db.pragma('journal_mode = DELETE')
    db.exec('BEGIN EXCLUSIVE')
    writeFileSync(holderPath, JSON.stringify({ pid: process.pid, host: hostname() }), { mode: PRIVATE_FILE })
    keepPrivate(holderPath)
  } catch (fault) {
    db?.close()
    const known = asStoreError(fault, path)
    if (!(known instanceof StoreError) || known.code !== 'locked') throw known
    throw new StoreError(
      'locked',
      said('folder-in-use', { folder, holder: holderWords(holderPath) }),
      { folder },
      fault,
    )
  }
  const held = db
  return { release: () => held.close() }
}

/** Whether a station has a data folder open. */
export function isHeld(folder: string): boolean {
  if (!existsSync(join(folder, 'station.hold'))) return false
  const db = new Database(join(folder, 'station.hold'), { timeout: 0 })
  try {
    db.exec('BEGIN EXCLUSIVE')
    return false
  } catch (fault) {
    const known = asStoreError(fault, folder)
    if (known instanceof StoreError && known.code === 'locked') return true
    throw known
  } finally {
    db.close()
  }
}

function holderWords(path: string): string {
  try {
    const { pid, host } = JSON.parse(readFileSync(path, 'utf8')) as { pid: number; host: string }
    return ` (process ${pid} on ${host})`
  } catch {
    // Only words are lost when the note cannot be read; the hold itself stands.
    return ''
  }
}
