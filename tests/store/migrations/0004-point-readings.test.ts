import Database from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import { migrate } from '../../../main/store/migrate.ts'
import { sessionMigrations } from '../../../main/store/migrations/session/index.ts'

describe('0004-point-readings', () => {
  it('lists which readings made each point, and leaves points of before as they are', () => {
    const db = new Database(':memory:')
    // As every connection of the store stands: what a view calls must be harmless.
    db.pragma('trusted_schema = 0')
    migrate(db, sessionMigrations, 3)
    const older = '{"id":"point-1","channels":[]}'
    const newer = JSON.stringify({
      id: 'point-2',
      readings: [
        { channel: 'ref', lane: 'bridge', part: 'order', fromSeq: 3, toSeq: 19 },
        { channel: 'ref', lane: 'bridge', part: 'pair', fromSeq: 40, toSeq: 61 },
      ],
    })
    const insert = db.prepare('INSERT INTO point VALUES (?, ?)')
    insert.run(1, older)
    expect(migrate(db, sessionMigrations, 4)).toEqual([4])
    insert.run(2, newer)
    expect(db.prepare('SELECT json FROM point ORDER BY n').pluck().all()).toEqual([older, newer])
    const shared = { point_n: 2, point: 'point-2', channel: 'ref', lane: 'bridge' }
    expect(db.prepare('SELECT * FROM point_reading').all()).toEqual([
      { ...shared, part: 'order', from_seq: 3, to_seq: 19 },
      { ...shared, part: 'pair', from_seq: 40, to_seq: 61 },
    ])
    const plan = db.prepare('EXPLAIN QUERY PLAN SELECT * FROM point_reading WHERE point_n = 2').all() as {
      detail: string
    }[]
    expect(plan.map(({ detail }) => detail).join()).toMatch(/SEARCH point USING INTEGER PRIMARY KEY/)
    db.close()
  })
})
