import { existsSync, rmSync } from 'node:fs'
import { said } from '../../app/messages/said.ts'
import { isDamage, StoreError } from './errors.ts'
import { renameWhole } from './rename-whole.ts'
import { sessionFilesOf } from './session-list.ts'
import { openDatabase } from './sqlite.ts'

/** The two ways out of a station.db that is lost, with their commands. */
const waysOut = (folder: string) =>
  `Take it from a backup: stillpoint restore BACKUP --data NEW. Or make it anew from the sessions, which hold the register and benches of their time: stillpoint sessions --rebuild --data "${folder}".`

/** Refuses a data folder that has sessions and no station.db: it was moved without it, or lost it. */
export function refuseLostStation(folder: string, path: string): void {
  let sessions = 0
  for (const _ of sessionFilesOf(folder)) sessions += 1
  if (sessions > 0)
    throw new StoreError(
      'damaged',
      said('station-file-missing', { path, sessions, folder: waysOut(folder) }),
      { folder, sessions },
    )
}

/** Tells of a damaged station.db with what can be done about it; every other fault passes. */
export function withWayOut(fault: unknown, folder: string, path: string): unknown {
  if (!(fault instanceof StoreError) || (fault.code !== 'damaged' && fault.code !== 'not-ours')) return fault
  if (fault.message.includes('stillpoint restore')) return fault
  return new StoreError(
    'damaged',
    said('station-file-unreadable', { path, said: fault.message, folder: waysOut(folder) }),
    { folder },
    fault,
  )
}

/** Gives a station.db that cannot be read another name, so that a new one can be made; a sound one stays. */
export function setAsideDamaged(path: string): void {
  if (!existsSync(path)) return
  try {
    const db = openDatabase(path, 'station', 'read')
    try {
      if (db.pragma('quick_check', { simple: true }) === 'ok') return
    } finally {
      db.close()
    }
  } catch (fault) {
    if (!isDamage(fault) && !(fault instanceof StoreError && fault.code === 'not-ours')) throw fault
  }
  for (const suffix of ['-wal', '-shm']) rmSync(path + suffix, { force: true })
  let n = 1
  while (existsSync(`${path}.damaged${n}`)) n += 1
  renameWhole(path, `${path}.damaged${n}`)
}
