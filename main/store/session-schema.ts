import Database from 'better-sqlite3'
import { last } from '../../app/base/lists.ts'
import { said } from '../../app/messages/said.ts'
import { StoreError } from './errors.ts'
import { migrate, schemaVersion } from './migrate.ts'
import { sessionMigrations } from './migrations/session/index.ts'
import type { Db } from './sqlite.ts'

/** One line of SQLite's own list of what a file holds, but for the page it lies on. */
interface Line {
  readonly type: string
  readonly name: string
  readonly table: string
  readonly sql: string | null
}

const expected = new Map<number, readonly Line[]>()

const linesOf = (db: Db): Line[] =>
  db.prepare('SELECT type, name, tbl_name AS "table", sql FROM sqlite_schema ORDER BY rowid').all() as Line[]

/** What a session file of a form holds, made by its own steps. */
function expectedLines(version: number): readonly Line[] {
  let lines = expected.get(version)
  if (!lines) {
    const db = new Database(':memory:')
    migrate(db, sessionMigrations, version)
    lines = linesOf(db)
    db.close()
    expected.set(version, lines)
  }
  return lines
}

const keyOf = ({ type, name }: Line) => `${type} ${name}`

/**
 * How the description of a session file differs from what its form has, in words; undefined where every table, view, trigger
 * and index is there as it must be, letter by letter, and nothing else is.
 */
export function schemaBreak(db: Db): string | undefined {
  const version = schemaVersion(db)
  const newest = last(sessionMigrations).id
  if (version < 1 || version > newest) return `It says that it has form ${version}, which there is none of.`
  const wanted = new Map(expectedLines(version).map((line) => [keyOf(line), line]))
  const seen = new Set<string>()
  for (const line of linesOf(db)) {
    const key = keyOf(line)
    const own = wanted.get(key)
    if (!own || seen.has(key)) return `Added to the file: ${key}.`
    if (own.table !== line.table || own.sql !== line.sql) return `Changed in the file: ${key}.`
    seen.add(key)
  }
  for (const key of wanted.keys()) if (!seen.has(key)) return `Missing in the file: ${key}.`
  return undefined
}

/**
 * Refuses a file in which something else stands in the place of a table, or a table that computes what it says: reading such a
 * one may never end. A table whose text is merely damaged is read as far as it goes. Throws StoreError 'damaged'.
 */
export function refuseTraps(db: Db): void {
  const version = schemaVersion(db)
  const newest = last(sessionMigrations).id
  const tables = new Map<string, string | null>()
  for (const { type, name, sql } of expectedLines(Math.min(Math.max(1, version), newest)))
    if (type === 'table') tables.set(name.toLowerCase(), sql)
  for (const { type, name, sql } of linesOf(db)) {
    const own = tables.get(String(name).toLowerCase())
    if (own === undefined) continue
    const isTable = type === 'table' && (sql === own || !COMPUTES.test(String(sql)))
    if (!isTable && type !== 'index')
      throw new StoreError('damaged', said('session-table-foreign', { db: db.name, name }), {
        path: db.name,
        name,
      })
  }
}

/** Words by which the text of a table makes more of it than columns that are stored. */
const COMPUTES = /\b(AS|GENERATED|VIRTUAL|USING|SELECT)\b/i
