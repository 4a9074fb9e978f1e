import { existsSync, readdirSync, rmSync, statSync } from 'node:fs'
import { basename, join } from 'node:path'
import { utcDay } from '../../app/base/times.ts'
import type { SESSION_SORTS } from '../../app/contract/pages.ts'
import { ArchiveRow } from '../../app/contract/studies.ts'
import { said } from '../../app/messages/said.ts'
import { decisionsOf } from '../../app/results/analysis-input.ts'
import { StoreError } from './errors.ts'
import { searchQuery } from './records/search-text.ts'
import { openSessionFile, type SessionFile } from './session-file.ts'
import { type Db, prepared } from './sqlite.ts'

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
    throw new StoreError('refused', said('session-id-impossible', { id }), {
      id,
    })
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

/** What the figures of a session rest on: another text, another look at what came out of it. */
const formOf = (file: SessionFile) => `${file.points().length} ${file.events().at(-1)?.n ?? 0}`

/** All that the list keeps of a session. */
export interface Filed {
  fileName: string
  row: ArchiveRow
  /** What it is found by. */
  words: string
  form: string
}

/** What a session is called here: its own id, unless one of another station had that before. */
export const sessionIdOf = ({ path }: SessionFile) => basename(path, SESSION_EXTENSION)

export function filedOf(file: SessionFile, sketch?: Sketch): Filed {
  const archived = archiveRowOf(file, sketch)
  const row = { ...archived, info: { ...archived.info, id: sessionIdOf(file) } }
  const { info, channels, thermometers } = row
  const day = utcDay(info.startedUtcUs)
  const words = [info.id, info.name, info.operator, info.note, info.kind, ...channels, ...thermometers]
  return {
    fileName: basename(file.path),
    row,
    words: [...words, ...searchWords(file), day].join('\n'),
    form: formOf(file),
  }
}

/** Files a session in the list, or its row anew. Inside the caller's transaction. */
export function storeFiled(db: Db, { fileName, row: { sketch, ...row }, words, form }: Filed): void {
  const pixels = Buffer.from(Float32Array.from(sketch, (value) => value ?? Number.NaN).buffer)
  const station = row.info.station ?? ''
  put(db, { row, words, form, file: fileName, sketch: pixels, station, away: 0, lookedAt: null })
}

/** Lists a session whose file lies at another bench of the laboratory. Inside the caller's transaction. */
export function storeAway(
  db: Db,
  id: string,
  told: { row: string; sketch: Buffer; words: string; station: string },
): void {
  const row = JSON.parse(told.row) as Row
  // There is nothing here to look at: charts wait for no session of another bench.
  const rest = { form: '', file: `${id}${SESSION_EXTENSION}`, away: 1, lookedAt: '' }
  put(db, { ...told, row: { ...row, info: { ...row.info, id } }, ...rest })
}

type Row = Omit<ArchiveRow, 'sketch'>

interface Put {
  row: Row
  words: string
  form: string
  file: string
  sketch: Buffer
  station: string
  away: number
  lookedAt: string | null
}

function put(db: Db, { row, words, form, file, sketch, station, away, lookedAt }: Put): void {
  const { info } = row
  const n = prepared(
    db,
    `INSERT INTO session (id, file, started_utc_us, ended_utc_us, name, operator, readings, points, bytes,
         signed_off_by, damaged, row, sketch, form, station, away, looked_at)
       VALUES (@id, @file, @started, @ended, @name, @operator, @readings, @points, @bytes, @signedOffBy, @damaged, @row,
         @sketch, @form, @station, @away, @lookedAt)
       ON CONFLICT (id) DO UPDATE SET file = excluded.file, started_utc_us = excluded.started_utc_us,
         ended_utc_us = excluded.ended_utc_us, name = excluded.name, operator = excluded.operator,
         readings = excluded.readings, points = excluded.points, bytes = excluded.bytes,
         signed_off_by = excluded.signed_off_by, damaged = excluded.damaged, row = excluded.row,
         sketch = excluded.sketch, form = excluded.form, station = excluded.station, away = excluded.away
       RETURNING n`,
  )
    .pluck()
    .get({
      ...{ id: info.id, file, started: info.startedUtcUs, ended: info.endedUtcUs },
      ...{ name: info.name, operator: info.operator, form, sketch, station, away, lookedAt },
      ...{ readings: row.readings, points: row.points, bytes: row.bytes },
      ...{ signedOffBy: row.signedOffBy, damaged: row.damaged, row: JSON.stringify(row) },
    }) as number
  prepared(db, 'DELETE FROM session_text WHERE rowid = ?').run(n)
  prepared(db, 'INSERT INTO session_text (rowid, words) VALUES (?, ?)').run(n, words)
  prepared(db, 'DELETE FROM session_thermometer WHERE session = ?').run(n)
  const of = prepared(db, 'INSERT OR IGNORE INTO session_thermometer VALUES (?, ?)')
  for (const thermometer of row.thermometers) of.run(thermometer, n)
}

export interface SessionQuery {
  /** Every word must occur, each by its beginning. */
  search?: string | undefined
  /** Register id: only sessions that measured it. */
  thermometer?: string | undefined
  ids?: readonly string[] | undefined
  sort?: (typeof SESSION_SORTS)[number] | undefined
  /** The oldest, the first of the alphabet or the smallest first. */
  reverse?: boolean | undefined
  /** Rows left out at the beginning, and most of them that are given. */
  from?: number | undefined
  most?: number | undefined
}

/** What each way of sorting sorts by; each has an index of its own. */
const ORDER: Record<(typeof SESSION_SORTS)[number], string> = {
  started: 'started_utc_us',
  name: 'name COLLATE NOCASE',
  operator: 'operator COLLATE NOCASE',
  readings: 'readings',
  points: 'points',
  bytes: 'bytes',
  length: 'ended_utc_us - started_utc_us',
  signed: 'signed_off_by COLLATE NOCASE',
}

/** The order of the list in SQL, as an index has it. */
export function sessionOrder(sort: (typeof SESSION_SORTS)[number], way: 'ASC' | 'DESC'): string {
  const by = [...new Set([ORDER[sort], ORDER.started, 'id'])]
  return by.map((one) => `${one} ${way}`).join(', ')
}

/** The bench of a session that is another's, as people call it, and whether its file is not here. */
const BENCH = `away, CASE WHEN station NOT IN ('', (SELECT station FROM identity ORDER BY n DESC LIMIT 1))
    THEN coalesce((SELECT b.name FROM bench_name b WHERE b.station = session.station), substr(station, 1, 8)) END AS bench`

interface StoredRow {
  id: string
  bench: string | null
  away: number
  row: string
  sketch: Buffer
  started: number
}

/** A page of the list of sessions, the newest first unless it is sorted otherwise, and how many there are in all. */
export function listSessions(db: Db, query: SessionQuery = {}): { total: number; rows: ArchiveRow[] } {
  const search = searchQuery(query.search ?? '')
  const where = [
    // A look is no work of the laboratory: it is gone in a day.
    'n NOT IN (SELECT n FROM session WHERE is_look = 1)',
    ...(search === undefined
      ? []
      : ['+n IN (SELECT rowid FROM session_text WHERE session_text MATCH @search)']),
    ...(query.thermometer === undefined
      ? []
      : ['n IN (SELECT session FROM session_thermometer WHERE thermometer = @thermometer)']),
    ...(query.ids ? ['id IN (SELECT value FROM json_each(@ids))'] : []),
  ]
  const values = {
    ...(query.ids && { ids: JSON.stringify(query.ids) }),
    ...(search !== undefined && { search }),
    ...(query.thermometer !== undefined && { thermometer: query.thermometer }),
  }
  const condition = `WHERE ${where.join(' AND ')}`
  const total = prepared(db, `SELECT count(*) FROM session ${condition}`).pluck().get(values) as number
  const way = query.reverse ? 'ASC' : 'DESC'
  // Only the rows of the page are read whole.
  const order = sessionOrder(query.sort ?? 'started', way)
  const rows = prepared(
    db,
    `SELECT id, row, sketch, started_utc_us AS started, ${BENCH} FROM session WHERE n IN (SELECT n FROM session ${condition}
       ORDER BY ${order} LIMIT @most OFFSET @from) ORDER BY ${order}`,
  ).all({ ...values, most: query.most ?? 200, from: query.from ?? 0 }) as StoredRow[]
  return { total, rows: rows.map(rowOf) }
}

/** Files of looks that ended before a moment; they leave the list. Inside the caller's transaction. */
export function takeOldLooks(db: Db, beforeUtcUs: number): string[] {
  const old = prepared(db, 'SELECT n, file FROM session WHERE is_look = 1 AND ended_utc_us < ?').all(
    beforeUtcUs,
  ) as { n: number; file: string }[]
  for (const { n } of old) {
    prepared(db, 'DELETE FROM session_text WHERE rowid = ?').run(n)
    prepared(db, 'DELETE FROM session_thermometer WHERE session = ?').run(n)
    prepared(db, 'DELETE FROM session WHERE n = ?').run(n)
  }
  return old.map(({ file }) => file)
}

/** A row that is damaged is still a line of the list, which says what can be done. */
function rowOf({ id, row, sketch, started, bench, away }: StoredRow): ArchiveRow {
  const values = new Float32Array(
    sketch.buffer.slice(sketch.byteOffset, sketch.byteOffset + sketch.byteLength),
  )
  const picture = Array.from(values, (value) => (Number.isNaN(value) ? null : value))
  try {
    const parsed = ArchiveRow.safeParse({ ...(JSON.parse(row) as object), sketch: picture })
    if (parsed.success) return bench === null ? parsed.data : { ...parsed.data, bench, away: away === 1 }
  } catch {
    // As below.
  }
  const info = { id, name: id, kind: 'recording', operator: '', startedUtcUs: started } as const
  return {
    info: {
      ...info,
      ...{ endedUtcUs: started, ending: null, endingReason: null, program: '', programVersion: '', note: '' },
    },
    ...{
      readings: 0,
      points: 0,
      bytes: 0,
      channels: [],
      thermometers: [],
      sketch: picture,
      signedOffBy: null,
    },
    damaged:
      'Its row in the list is damaged; the session itself may be whole. Run "stillpoint sessions --rebuild".',
  }
}

/** Forgets every row of the list, to be filed anew from the files. */
export function emptyList(db: Db): void {
  db.exec('DELETE FROM session; UPDATE laboratory SET sessions_pulled = 0')
  db.exec("INSERT INTO session_text (session_text) VALUES ('delete-all')")
}

/** Ids alone, the newest first. */
export function sessionIds(db: Db, which: 'all' | 'ended' | 'open' = 'all'): string[] {
  const where = {
    all: '',
    ended: 'WHERE ended_utc_us IS NOT NULL AND damaged IS NULL AND away = 0',
    open: 'WHERE ended_utc_us IS NULL AND damaged IS NULL AND away = 0',
  }[which]
  return prepared(db, `SELECT id FROM session ${where} ORDER BY started_utc_us DESC, id DESC`)
    .pluck()
    .all() as string[]
}

/** Names and numbers by which a person looks for a session. */
function searchWords({ setup }: SessionFile): string[] {
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
