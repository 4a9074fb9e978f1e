import { join } from 'node:path'
import { freeBytes } from './disk.ts'
import { isHeld } from './lock.ts'
import { schemaVersion } from './migrate.ts'
import { sessionFilesOf } from './session-list.ts'
import { openDatabase } from './sqlite.ts'

export interface FolderLook {
  readonly held: boolean | string
  readonly freeBytes: number | string
  readonly station: { readonly form: number; readonly check: string } | string
  readonly sessions: readonly { readonly id: string; readonly words: string }[]
}

/** What a data folder holds and what is wrong with it, changing nothing. Never throws: each trouble is told in its place. */
export function lookAtFolder(folder: string): FolderLook {
  return {
    held: orWords(() => isHeld(folder)),
    freeBytes: orWords(() => freeBytes(folder)),
    station: orWords(() => {
      const db = openDatabase(join(folder, 'station.db'), 'station', 'read')
      try {
        return { form: schemaVersion(db), check: String(db.pragma('quick_check', { simple: true })) }
      } finally {
        db.close()
      }
    }),
    sessions: sessionsIn(folder),
  }
}

function sessionsIn(folder: string): FolderLook['sessions'] {
  const found: { id: string; words: string }[] = []
  for (const { id, file, words } of sessionFilesOf(folder))
    found.push({
      id,
      words: words ?? orWords(() => `${file!.readingCount} readings, ${file!.info.ending ?? 'not ended'}`),
    })
  return found
}

function orWords<T>(look: () => T): T | string {
  try {
    return look()
  } catch (fault) {
    return fault instanceof Error ? fault.message : String(fault)
  }
}
