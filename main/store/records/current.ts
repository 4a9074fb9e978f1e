import type { z } from 'zod'
import type { RecordKind, RecordRow } from '../../../app/records/record-kinds.ts'
import { type Db, prepared } from '../sqlite.ts'
import type { RecordState, Whole } from './change.ts'

/** A record as it stands now: where it is found, and everything that is kept of it. */
export interface Current {
  kind: string
  id: string
  rev: number
  utcUs: number
  state: RecordState
  whole: Whole
}

const words = (list: readonly (string | undefined)[]) => list.filter(Boolean).join('\n')

/** The row of a value, or what a list says of one that does not have its form any more. */
function rowOf(kind: RecordKind, { id, whole }: Current): RecordRow & { damaged?: string } {
  const parsed = kind.schema.safeParse(whole)
  if (parsed.success) return kind.row(parsed.data)
  const name = typeof whole.name === 'string' ? whole.name : id
  return { name, damaged: firstIssue(parsed.error) }
}

const firstIssue = ({ issues: [issue] }: z.ZodError) =>
  `${issue?.path.join('.') || 'the record'}: ${issue?.message ?? 'not readable'}`

/** Writes the rows of a record as it stands now, in the caller's transaction. What they hold follows from its versions. */
export function writeCurrent(db: Db, kind: RecordKind, current: Current): void {
  const { whole, state } = current
  const row = rowOf(kind, current)
  const listed = kind.lists.filter((list) => Array.isArray(whole[list]))
  const head = { ...whole, ...Object.fromEntries(listed.map((list) => [list, []])) }
  const n = prepared(
    db,
    `INSERT INTO record (kind, id, rev, utc_us, state, name, type, serial, owner, due, facts, json, damaged)
       VALUES (@kind, @id, @rev, @utcUs, @state, @name, @type, @serial, @owner, @due, @facts, @json, @damaged)
       ON CONFLICT (kind, id) DO UPDATE SET rev = excluded.rev, utc_us = excluded.utc_us, state = excluded.state,
         name = excluded.name, type = excluded.type, serial = excluded.serial, owner = excluded.owner,
         due = excluded.due, facts = excluded.facts, json = excluded.json, damaged = excluded.damaged
       RETURNING n`,
  )
    .pluck()
    .get({
      ...{ kind: current.kind, id: current.id, rev: current.rev, utcUs: current.utcUs, state },
      ...{ name: row.name, type: row.type ?? '', serial: row.serial ?? '', owner: row.owner ?? '' },
      due: row.due ?? null,
      facts: JSON.stringify(row.facts ?? {}),
      json: JSON.stringify(head),
      damaged: row.damaged ?? null,
    }) as number
  for (const list of kind.lists)
    writeParts(db, n, list, listed.includes(list) ? (whole[list] as unknown[]) : [])
  writeLinks(db, n, row.links ?? [])
  prepared(db, 'DELETE FROM record_text WHERE rowid = ?').run(n)
  if (state !== 'removed')
    prepared(db, 'INSERT INTO record_text (rowid, words) VALUES (?, ?)').run(
      n,
      words([current.id, row.name, row.type, row.serial, row.owner, ...(row.words ?? [])]),
    )
}

const textIn = (element: unknown, key: string) => {
  const value = element !== null && typeof element === 'object' ? (element as Whole)[key] : undefined
  return typeof value === 'string' ? value : null
}

/** Only rows that changed are written: a calibration added to fifty costs one. */
function writeParts(db: Db, record: number, list: string, elements: readonly unknown[]): void {
  const before = prepared(db, 'SELECT json FROM part WHERE record = ? AND list = ? ORDER BY place')
    .pluck()
    .all(record, list) as string[]
  const put = prepared(db, 'INSERT OR REPLACE INTO part VALUES (?, ?, ?, ?, ?, ?, ?)')
  for (const [place, element] of elements.entries()) {
    const json = JSON.stringify(element)
    if (json === before[place]) continue
    put.run(record, list, place, textIn(element, 'id'), textIn(element, 'date'), textIn(element, 'due'), json)
  }
  if (before.length > elements.length)
    prepared(db, 'DELETE FROM part WHERE record = ? AND list = ? AND place >= ?').run(
      record,
      list,
      elements.length,
    )
}

function writeLinks(db: Db, record: number, links: NonNullable<RecordRow['links']>): void {
  prepared(db, 'DELETE FROM record_link WHERE record = ?').run(record)
  const put = prepared(db, 'INSERT OR IGNORE INTO record_link (record, role, id) VALUES (?, ?, ?)')
  for (const { role, id } of links) put.run(record, role, id)
}

interface Row {
  n: number
  id: string
  state: RecordState
  json: string
}

/** A record whole as its rows have it; undefined where there is none. Throws SyntaxError where a row is damaged. */
export function readCurrent(
  db: Db,
  kind: string,
  id: string,
): { state: RecordState; whole: Whole } | undefined {
  const row = prepared(db, 'SELECT n, id, state, json FROM record WHERE kind = ? AND id = ?').get(kind, id) as
    | Row
    | undefined
  if (!row) return undefined
  const parts = prepared(db, 'SELECT list, json FROM part WHERE record = ? ORDER BY list, place').all(
    row.n,
  ) as { list: string; json: string }[]
  return { state: row.state, whole: assemble(row.json, parts) }
}

function assemble(json: string, parts: Iterable<{ list: string; json: string }>): Whole {
  const whole = JSON.parse(json) as Record<string, unknown[]>
  for (const part of parts) whole[part.list]?.push(JSON.parse(part.json))
  return whole
}
