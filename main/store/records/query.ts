import type { RECORD_SORTS, RecordLine } from '../../../app/contract/pages.ts'
import type { RecordLink } from '../../../app/records/record-kinds.ts'
import { type Db, prepared } from '../sqlite.ts'
import type { RecordState } from './change.ts'
import { searchQuery } from './search-text.ts'

export interface RecordQuery {
  /** Kinds looked through. */
  kinds: readonly string[]
  search?: string | undefined
  /** Only these ids. */
  ids?: readonly string[] | undefined
  /** Only records that name another one in this way: the items of an order. */
  link?: RecordLink | undefined
  type?: string | undefined
  /** Due on this day or before it. */
  dueBy?: string | undefined
  /** Only what has a due date. */
  due?: boolean | undefined
  states?: readonly RecordState[] | undefined
  sort?: RecordSort | undefined
  /** From the other end. */
  reverse?: boolean | undefined
  /** Lines left out at the beginning, and most of them that are given. */
  from?: number | undefined
  most?: number | undefined
}

type RecordSort = (typeof RECORD_SORTS)[number]

/** What a list is sorted by; equal ones by name and id, so that pages never overlap. */
const ORDER: Record<RecordSort, string> = {
  name: 'name COLLATE NOCASE',
  id: 'id',
  type: 'type',
  serial: 'serial COLLATE NOCASE',
  owner: 'owner COLLATE NOCASE',
  due: 'coalesce(due, char(0x10ffff))',
  changed: 'utc_us',
}
const MOST = 100
const holders = (list: readonly unknown[]) => list.map(() => '?').join(', ')

/** A page of records, and how many there are in all. */
export function listRecords(db: Db, query: RecordQuery): { total: number; rows: RecordLine[] } {
  const { where, values } = conditions(query)
  const total = prepared(db, `SELECT count(*) FROM record WHERE ${where}`)
    .pluck()
    .get(...values) as number
  const way = query.reverse ? 'DESC' : 'ASC'
  const rows = prepared(
    db,
    `SELECT kind, id, name, type, serial, owner, due, state, utc_us AS utcUs, rev, facts, damaged FROM record
       WHERE ${where} ORDER BY ${ORDER[query.sort ?? 'name']} ${way}, name COLLATE NOCASE ${way}, id ${way}, kind ${way}
       LIMIT ? OFFSET ?`,
  ).all(...values, query.most ?? MOST, query.from ?? 0) as (Omit<RecordLine, 'facts'> & { facts: string })[]
  return { total, rows: rows.map((row) => ({ ...row, facts: factsIn(row.facts) })) }
}

function conditions(query: RecordQuery): { where: string; values: unknown[] } {
  const where: string[] = []
  const values: unknown[] = []
  const also = (sql: string, ...more: unknown[]) => {
    where.push(sql)
    values.push(...more)
  }
  const states = query.states ?? ['kept']
  also(`kind IN (${holders(query.kinds)})`, ...query.kinds)
  also(`state IN (${holders(states)})`, ...states)
  if (query.ids) also('id IN (SELECT value FROM json_each(?))', JSON.stringify(query.ids))
  if (query.type !== undefined) also('type = ?', query.type)
  if (query.dueBy !== undefined) also('due <= ?', query.dueBy)
  if (query.due) where.push('due IS NOT NULL')
  if (query.link)
    also('n IN (SELECT record FROM record_link WHERE role = ? AND id = ?)', query.link.role, query.link.id)
  const search = searchQuery(query.search ?? '')
  if (search !== undefined) also('n IN (SELECT rowid FROM record_text WHERE record_text MATCH ?)', search)
  return { where: where.join(' AND '), values }
}

/** A line whose few facts are damaged is still a line. */
function factsIn(json: string): RecordLine['facts'] {
  try {
    return JSON.parse(json) as RecordLine['facts']
  } catch {
    return {}
  }
}
