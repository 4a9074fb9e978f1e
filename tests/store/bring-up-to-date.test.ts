import { copyFileSync, readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import { bringUpToDate } from '../../main/store/bring-up-to-date.ts'
import { exportSession } from '../../main/store/export/export.ts'
import { migrate, schemaVersion } from '../../main/store/migrate.ts'
import { sessionMigrations } from '../../main/store/migrations/session/index.ts'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import { verifySession } from '../../main/store/verify.ts'
import { exampleClock, exampleInfo, exampleSetup, scan, temporaryFolder } from './example.ts'
import { OLD_SCANS, writeOldSession } from './old-session.ts'

const NEWEST = sessionMigrations.at(-1)!.id
const clock = exampleClock()

describe('migrate', () => {
  it('has steps 1, 2, 3 ... without holes, and a test for each', () => {
    expect(sessionMigrations.map(({ id }) => id)).toEqual(sessionMigrations.map((_, i) => i + 1))
    const steps = readdirSync(join(import.meta.dirname, '../../main/store/migrations/session')).filter(
      (name) => /^\d/.test(name),
    )
    const tests = readdirSync(join(import.meta.dirname, 'migrations'))
    expect(steps).toHaveLength(sessionMigrations.length)
    for (const name of steps) expect(tests).toContain(name.replace('.ts', '.test.ts'))
  })

  it('leaves a file as it was where a step fails', () => {
    const db = new Database(':memory:')
    migrate(db, sessionMigrations, 1)
    const bad = {
      id: 2,
      brings: 'nothing',
      up: (d: typeof db) => void d.exec('CREATE TABLE a (b); SELECT * FROM nowhere'),
    }
    expect(() => migrate(db, [sessionMigrations[0]!, bad])).toThrow()
    expect(schemaVersion(db)).toBe(1)
    expect(db.prepare("SELECT count(*) FROM sqlite_schema WHERE name = 'a'").pluck().get()).toBe(0)
    db.close()
  })
})

describe('openSessionFile', () => {
  for (let version = 1; version < NEWEST; version++)
    it(`opens, verifies and exports a file of form ${version}`, async () => {
      const folder = temporaryFolder()
      const path = writeOldSession(folder, version)
      expect(verifySession(path)).toMatchObject({ whole: true, readings: 5 * OLD_SCANS })
      const file = openSessionFile(path, { mode: 'read' })
      expect(file.version).toBe(version)
      expect(file.since(0, 5).map(({ raw }) => raw)).toEqual(scan(0, 5).map(({ raw }) => raw))
      expect(file.readings({ channel: 'ch2', most: 3 })).toHaveLength(3)
      expect(file.overview({ channel: 'ch2', buckets: 20 }).n.reduce((a, b) => a + b)).toBe(OLD_SCANS)
      file.close()
      expect(() => openSessionFile(path, { mode: 'write', clock })).toThrow(/older form; bringUpToDate/)
      expect(await exportSession(path, { format: 'csv', out: join(folder, 'a.csv') })).toMatchObject({
        readings: 5 * OLD_SCANS,
      })
    })

  it('refuses a file of a newer program in words', () => {
    const path = join(temporaryFolder(), 'a.stillpoint')
    createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock }).close()
    const db = new Database(path)
    db.pragma(`user_version = ${NEWEST + 1}`)
    db.close()
    for (const open of [
      () => openSessionFile(path, { mode: 'read' }),
      () => openSessionFile(path, { mode: 'write', clock }),
    ])
      expect(open).toThrow(
        new RegExp(
          `written by a newer Stillpoint \\(form ${NEWEST + 1} of the session file; this one knows up to ${NEWEST}\\)`,
        ),
      )
  })

  it('refuses files that are not sessions in words', () => {
    const folder = temporaryFolder()
    const other = join(folder, 'other.db')
    new Database(other).exec('CREATE TABLE a (b)').close()
    expect(() => openSessionFile(other, { mode: 'read' })).toThrow(/not a session file of Stillpoint/)
    expect(() => openSessionFile(join(folder, 'none'), { mode: 'read' })).toThrow(/There is no file/)
  })
})

describe('bringUpToDate', () => {
  it.each([1, 2])(
    'gives a file of form %i its new form in a copy, with every reading, and keeps the old one',
    (form) => {
      const folder = temporaryFolder()
      const path = join(folder, 'a.stillpoint')
      copyFileSync(writeOldSession(folder, form), path)
      const bytes = readFileSync(path)
      const before = openSessionFile(path, { mode: 'read' })
      const readings = before.since(0, 1e6)
      const channel = form === 1 ? 'ch3' : 'ch1'
      const overview = before.overview({ channel, buckets: 100 })
      expect(Math.max(...overview.max)).toBeLessThan(2)
      const head = before.head()
      before.close()
      expect(bringUpToDate(path)).toEqual({ from: form, keptAs: `${path}.form${form}` })
      expect(readFileSync(`${path}.form${form}`).length).toBe(bytes.length)
      const after = openSessionFile(path, { mode: 'write', clock })
      expect(after.version).toBe(NEWEST)
      expect(after.since(0, 1e6)).toEqual(readings)
      const again = after.overview({ channel, buckets: 100 })
      expect([...again.n, ...again.min, ...again.max, ...again.t]).toEqual([
        ...overview.n,
        ...overview.min,
        ...overview.max,
        ...overview.t,
      ])
      expect(after.head()).toBe(head)
      after.commit({ readings: scan(OLD_SCANS, 5) })
      after.finish('complete', 'went on in the new form')
      after.close()
      expect(verifySession(path)).toMatchObject({ whole: true, readings: 5 * OLD_SCANS + 5 })
      expect(readdirSync(folder).filter((name) => name.includes('part'))).toEqual([])
    },
  )

  it('leaves a file alone that is not whole or that others have open', () => {
    const folder = temporaryFolder()
    const path = writeOldSession(folder, 1)
    const reader = openSessionFile(path, { mode: 'read' })
    reader.since(0, 1)
    expect(() => bringUpToDate(path)).toThrow(/open elsewhere/)
    reader.close()
    const db = new Database(path)
    const { sql } = db.prepare("SELECT sql FROM sqlite_schema WHERE name = 'log_no_update'").get() as {
      sql: string
    }
    db.exec(`DROP TRIGGER log_no_update; UPDATE log SET raw = '+2' WHERE seq = 7; ${sql}`)
    db.close()
    expect(() => bringUpToDate(path)).toThrow(/is not whole\. .*readings 6 to 10/)
    const still = openSessionFile(path, { mode: 'read' })
    expect(still.version).toBe(1)
    still.close()
  })
})
