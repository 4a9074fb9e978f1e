import { last } from '../../app/base/lists.ts'
import { said } from '../../app/messages/said.ts'
import { StoreError } from './errors.ts'
import { type Db, type FileKind, inTransaction } from './sqlite.ts'

/** One step of a file's schema. Forward only, and never edited once a file has been written with it. */
export interface Migration {
  readonly id: number
  /** What the step brings, for the line that tells a person that a file was brought up to date. */
  readonly brings: string
  up(db: Db): void
}

export const schemaVersion = (db: Db) => Number(db.pragma('user_version', { simple: true }))

/** Refuses a file from a newer program in words. Returns whether steps are missing. */
export function checkVersion(db: Db, kind: FileKind, steps: readonly Migration[]): boolean {
  const version = schemaVersion(db)
  const newest = last(steps).id
  if (version > newest)
    throw new StoreError('newer', said('form-newer', { db: db.name, version, kind, newest }), {
      path: db.name,
      version,
      newest,
    })
  if (version < 1)
    throw new StoreError('damaged', said('form-unsaid', { db: db.name, kind }), {
      path: db.name,
      version,
    })
  return version < newest
}

/** Runs the missing steps, each in one transaction with its number. */
export function migrate(db: Db, steps: readonly Migration[], upTo = last(steps).id): number[] {
  const done: number[] = []
  for (const step of steps) {
    if (step.id <= schemaVersion(db) || step.id > upTo) continue
    inTransaction(db, () => {
      step.up(db)
      db.pragma(`user_version = ${step.id}`)
    })
    done.push(step.id)
  }
  return done
}
