import { existsSync, readdirSync, rmSync, statSync } from 'node:fs'
import { join } from 'node:path'
import { utcDay } from '../../app/base/times.ts'
import { ArchiveRow } from '../../app/contract/studies.ts'
import { decisionsOf } from '../../app/results/analysis-input.ts'
import { StoreError } from './errors.ts'
import { openSessionFile, type SessionFile } from './session-file.ts'
import { parseStored } from './session-rows.ts'
import type { Db } from './sqlite.ts'

export const SESSION_EXTENSION = '.stillpoint'
/** A session's id is also its file's name. */
const ID = /^[A-Za-z0-9][A-Za-z0-9._-]{0,79}$/

/** A small picture of a session: up to 200 temperatures of its reference, from its chain. */
export type Sketch = (file: SessionFile) => (number | null)[]

export function sessionFolder(folder: string): string {
  return join(folder, 'sessions')
}

/** Path of a session's file. Throws StoreError 'refused' for an id that could lead out of the folder. */
export function sessionFilePath(folder: string, id: string): string {
  if (!ID.test(id) || id.includes('..'))
    throw new StoreError(
      'refused',
      `"${id}" cannot be a session: letters, digits, dot, dash and underscore only.`,
      {
        id,
      },
    )
  return join(sessionFolder(folder), `${id}${SESSION_EXTENSION}`)
}

/** Takes away what copies and exports left behind that were cut off by a crash; only for who holds the folder. */
export function removeUnfinished(folder: string): void {
  for (const name of readdirSync(sessionFolder(folder)))
    if (/\.\d+\.part(-wal|-shm|-journal)?$/.test(name))
      rmSync(join(sessionFolder(folder), name), { force: true })
}

/** Who signed the report as it stands; null for a draft, also one that an amendment after a signature began. */
function signerOf(file: SessionFile): string | null {
  const events = file.events({ kinds: ['amendment', 'decision', 'sign-off'] })
  return decisionsOf(file.setup, events).signOff?.who ?? null
}

export function archiveRowOf(file: SessionFile, sketch?: Sketch): ArchiveRow {
  const { info, setup } = file
  return {
    info,
    readings: file.readingCount,
    points: file.points().length,
    bytes: statSync(file.path).size,
    channels: file.channels,
    thermometers: setup.register.thermometers.map(({ id }) => id),
    sketch: sketch?.(file) ?? [],
    signedOffBy: signerOf(file),
    damaged: null,
  }
}

export function storeRow(
  db: Db,
  id: string,
  fileName: string,
  row: ArchiveRow,
  more: readonly string[],
): void {
  const { info } = row
  const words = [
    id,
    info.name,
    info.operator,
    info.note,
    info.kind,
    ...row.channels,
    ...row.thermometers,
    ...more,
  ]
  words.push(utcDay(info.startedUtcUs))
  db.prepare('INSERT OR REPLACE INTO session VALUES (?, ?, ?, ?, ?)').run(
    id,
    fileName,
    info.startedUtcUs,
    words.join('\n').toLowerCase(),
    JSON.stringify(row),
  )
}

/** Sessions in which every word of the search occurs; the newest first. */
export function listRows(db: Db, search: string, most: number): ArchiveRow[] {
  const words = search.toLowerCase().split(/\s+/).filter(Boolean)
  const where = words.map(() => `instr(words, ?) > 0`).join(' AND ') || '1'
  const rows = db
    .prepare(`SELECT row FROM session WHERE ${where} ORDER BY started_utc_us DESC, id DESC LIMIT ?`)
    .pluck()
    .all(...words, most) as string[]
  return rows.map((row) => parseStored(ArchiveRow, row, `A row of the list of sessions in ${db.name}`))
}

/** Names and numbers by which a person looks for a session. */
export function searchWords({ setup }: SessionFile): string[] {
  const thermometers = setup.register.thermometers.flatMap(({ name, serial, owner }) => [name, serial, owner])
  return [
    ...thermometers,
    setup.bench.name,
    setup.plan?.name ?? '',
    setup.job?.number ?? '',
    setup.job?.customer ?? '',
  ]
}

export interface FoundSession {
  id: string
  path: string
  /** null where the file cannot be opened; `words` says why. */
  file: SessionFile | null
  words: string | null
}

/** Every session file of a folder, each open while the caller looks at it. */
export function* sessionFilesOf(folder: string): Generator<FoundSession> {
  const place = sessionFolder(folder)
  if (!existsSync(place)) return
  for (const name of readdirSync(place).sort()) {
    if (!name.endsWith(SESSION_EXTENSION)) continue
    const id = name.slice(0, -SESSION_EXTENSION.length)
    const path = join(place, name)
    let file: SessionFile
    try {
      file = openSessionFile(path, { mode: 'read' })
    } catch (fault) {
      yield { id, path, file: null, words: fault instanceof Error ? fault.message : String(fault) }
      continue
    }
    try {
      yield { id, path, file, words: null }
    } finally {
      file.close()
    }
  }
}
