import { existsSync } from 'node:fs'
import Database from 'better-sqlite3'
import { said } from '../../app/messages/said.ts'
import { asStoreError, isDamage, StoreError } from './errors.ts'
import { applyPragmas } from './pragmas.ts'
import { beginPrivate, keepPrivate } from './private.ts'

export type Db = Database.Database

/** What kind of file it is, kept in SQLite's application_id. */
export const APPLICATION_IDS = { session: 0x53745073, station: 0x53745074 } as const
export type FileKind = keyof typeof APPLICATION_IDS

/** Sets what every connection must have, and throws where the file does not take it. */
export function setPragmas(db: Db, path: string, mode: 'write' | 'read'): void {
  const wrong = applyPragmas(db, mode)
  if (wrong === undefined) return
  const { name, found, value } = wrong
  throw new StoreError(
    'input-output',
    name === 'journal_mode'
      ? said('no-write-ahead-log', { path })
      : said('setting-of-file-differs', { path, name, found: String(found), value: String(value) }),
    { path, name },
  )
}

/** Opens a file that exists. Throws StoreError 'not-found', 'not-ours', 'damaged' or 'input-output'. */
export function openDatabase(path: string, kind: FileKind, mode: 'write' | 'read'): Db {
  if (!existsSync(path)) throw new StoreError('not-found', said('no-such-file', { path }), { path })
  let db: Db | undefined
  try {
    if (mode === 'write') keepPrivate(path)
    db = new Database(path, { readonly: mode === 'read', fileMustExist: true, timeout: 5000 })
    if (mode === 'read') readOnWithoutSchema(db)
    const id = db.pragma('application_id', { simple: true })
    if (id !== APPLICATION_IDS[kind])
      throw new StoreError('not-ours', said('not-our-kind-of-file', { path, kind }), { path, id })
    setPragmas(db, path, mode)
    return db
  } catch (fault) {
    db?.close()
    throw asStoreError(fault, path)
  }
}

/**
 * One wrong letter in the text of a trigger, and SQLite refuses the whole file; told that the schema may be written, it
 * reads past such a line. This connection writes nothing.
 */
function readOnWithoutSchema(db: Db): void {
  try {
    db.prepare('SELECT count(*) FROM sqlite_schema').get()
  } catch (fault) {
    if (!isDamage(fault)) throw fault
    db.unsafeMode()
    db.pragma('writable_schema = ON')
  }
}

/** Whether a file is read although the descriptions of its tables are damaged. */
export const lacksSchema = (db: Db) => db.pragma('writable_schema', { simple: true }) === 1

/** Makes a new, empty file of a kind. Throws StoreError 'exists' where there is one. */
export function createDatabase(path: string, kind: FileKind): Db {
  if (existsSync(path)) throw new StoreError('exists', said('file-exists', { path }), { path })
  let db: Db | undefined
  try {
    beginPrivate(path)
    db = new Database(path, { timeout: 5000 })
    db.pragma(`application_id = ${APPLICATION_IDS[kind]}`)
    setPragmas(db, path, 'write')
    return db
  } catch (fault) {
    db?.close()
    throw asStoreError(fault, path)
  }
}

const statements = new WeakMap<Db, Map<string, Database.Statement>>()

/**
 * A statement of a connection, prepared once. Statements hold memory that the garbage collector does not see: preparing
 * one anew for each of a hundred thousand saves takes gigabytes before any of it is given back.
 */
export function prepared(db: Db, sql: string): Database.Statement {
  const known = statements.get(db) ?? new Map<string, Database.Statement>()
  statements.set(db, known)
  const statement = known.get(sql) ?? db.prepare(sql)
  known.set(sql, statement)
  return statement
}

/** Runs a synchronous function in one immediate transaction; all of it is stored, or nothing. */
export function inTransaction<T>(db: Db, work: () => T): T {
  db.exec('BEGIN IMMEDIATE')
  try {
    const result = work()
    db.exec('COMMIT')
    return result
  } catch (fault) {
    if (db.inTransaction) db.exec('ROLLBACK')
    throw asStoreError(fault, db.name)
  }
}

/** SQL of triggers that let rows of a table be added and neither changed nor removed. */
export function appendOnly(
  table: string,
  key: string,
  guard = `EXISTS (SELECT 1 FROM ${table} WHERE ${key} = NEW.${key})`,
): string {
  return `
CREATE TRIGGER ${table}_no_update BEFORE UPDATE ON ${table} BEGIN SELECT RAISE(ABORT, '${table} is append-only'); END;
CREATE TRIGGER ${table}_no_delete BEFORE DELETE ON ${table} BEGIN SELECT RAISE(ABORT, '${table} is append-only'); END;
CREATE TRIGGER ${table}_no_replace BEFORE INSERT ON ${table} WHEN ${guard} BEGIN SELECT RAISE(ABORT, '${table} is append-only'); END;`
}
