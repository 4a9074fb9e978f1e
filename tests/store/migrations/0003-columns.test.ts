import Database from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import { migrate } from '../../../main/store/migrate.ts'
import { sessionMigrations } from '../../../main/store/migrations/session/index.ts'

describe('0003-columns', () => {
  it('takes chunks of the form before away, and leaves the log as it was', () => {
    const db = new Database(':memory:')
    migrate(db, sessionMigrations, 2)
    db.exec(`INSERT INTO log (source, utc_us, mono_us, raw, value, marks) VALUES (1, 1, 1, '1', '=', 0);
      INSERT INTO chunk VALUES (2147483649, 1, 1, 1, 1, 1, 1, 1.0, 1.0, 1.0);
      INSERT INTO chunk_cells VALUES (2147483649, x'00');
      INSERT INTO chunk_body VALUES (2147483649, x'00');
      INSERT INTO sealed VALUES (1, 1, 1)`)
    expect(migrate(db, sessionMigrations, 3)).toEqual([3])
    const count = (table: string) => db.prepare(`SELECT count(*) FROM ${table}`).pluck().get()
    expect(['log', 'chunk', 'chunk_cells', 'chunk_body', 'sealed'].map(count)).toEqual([1, 0, 0, 0, 0])
    const plan = db.prepare('EXPLAIN QUERY PLAN SELECT body FROM chunk_body WHERE id = 1').all() as {
      detail: string
    }[]
    expect(plan.map(({ detail }) => detail).join()).toMatch(/SEARCH chunk_body USING INTEGER PRIMARY KEY/)
    db.close()
  })
})
