import Database from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import { migrate } from '../../../main/store/migrate.ts'
import { sessionMigrations } from '../../../main/store/migrations/session/index.ts'

describe('0002-chunk', () => {
  it('adds chunks that are found by their number, and leaves the log as it was', () => {
    const db = new Database(':memory:')
    migrate(db, sessionMigrations, 1)
    db.exec("INSERT INTO log (source, utc_us, mono_us, raw, value, marks) VALUES (1, 1, 1, '1', '=', 0)")
    expect(migrate(db, sessionMigrations, 2)).toEqual([2])
    expect(db.pragma('user_version', { simple: true })).toBe(2)
    expect(db.prepare('SELECT count(*) FROM log').pluck().get()).toBe(1)
    const plan = db.prepare('EXPLAIN QUERY PLAN SELECT id FROM chunk WHERE id BETWEEN 1 AND 2').all() as {
      detail: string
    }[]
    expect(plan.map(({ detail }) => detail).join()).toMatch(/SEARCH chunk USING INTEGER PRIMARY KEY/)
    db.close()
  })
})
