import { join } from 'node:path'
import Database from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import { migrate } from '../../../main/store/migrate.ts'
import { stationMigrations } from '../../../main/store/migrations/station/index.ts'
import { createDatabase } from '../../../main/store/sqlite.ts'
import { openStationStore } from '../../../main/store/station-store.ts'
import { exampleClock, temporaryFolder } from '../example.ts'

const options = { clock: exampleClock() }

describe('0001-register', () => {
  it('finds the versions of an entry by its kind and id', () => {
    const db = new Database(':memory:')
    migrate(db, stationMigrations, 1)
    const plan = db
      .prepare("EXPLAIN QUERY PLAN SELECT json FROM entry WHERE kind = 'a' AND id = 'b' ORDER BY n")
      .all() as { detail: string }[]
    expect(plan.map(({ detail }) => detail).join()).toMatch(/USING INDEX entry_by_id/)
    db.close()
  })
})

describe('0002-anchor', () => {
  it('is added to a station of the first form with everything it holds', () => {
    const folder = temporaryFolder()
    const db = createDatabase(join(folder, 'station.db'), 'station')
    migrate(db, stationMigrations, 1)
    db.exec(
      `INSERT INTO entry VALUES (1, 'fluid', 'oil', 5, '{"id":"oil","name":"Oil","lowC":20,"highC":150}')`,
    )
    db.close()
    expect(() => openStationStore(folder, { ...options, mode: 'read' })).toThrow(/older form/)
    const store = openStationStore(folder, options)
    expect(store.register().fluids).toMatchObject([{ id: 'oil', marginK: 20 }])
    expect(store.anchors('x')).toEqual([])
    store.close()
  })

  it('is refused in words in a file of a newer program', () => {
    const folder = temporaryFolder()
    openStationStore(folder, options).close()
    const db = new Database(join(folder, 'station.db'))
    db.pragma('user_version = 99')
    db.close()
    expect(() => openStationStore(folder, options)).toThrow(
      /written by a newer Stillpoint \(form 99 .* up to 2\)/,
    )
    expect(() => openStationStore(folder, options), 'the folder was let go').toThrow(/newer/)
  })
})
