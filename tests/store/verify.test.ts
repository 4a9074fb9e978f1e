import { copyFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import { verifySession } from '../../main/store/verify.ts'
import {
  exampleClock,
  exampleEvent,
  exampleInfo,
  examplePoint,
  exampleSetup,
  scan,
  sharedFolder,
  temporaryFolder,
} from './example.ts'

const BATCHES = 300
const CHANNELS = 4

/** A session of `BATCHES` scans with events, a point and a few chunks; returns the anchored head. */
function write(path: string): { batch: number; head: string } {
  const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
  for (let tick = 0; tick < BATCHES; tick++)
    file.commit({
      readings: scan(tick, CHANNELS),
      events: tick % 50 === 0 ? [exampleEvent(`scan ${tick}, half a pair: \ud83d`)] : [],
      points: tick === 200 ? [examplePoint] : [],
      runner: { tick },
    })
  file.finish('complete', 'done')
  const anchor = file.anchor()
  file.close()
  return anchor
}

const TAMPERINGS: Record<string, [sql: string, named: RegExp]> = {
  'a changed raw text': [
    "UPDATE log SET raw = '+1.1' WHERE seq = 501",
    /Batch 126 \(readings 501 to 504, from 2026/,
  ],
  'a changed value': ["UPDATE log SET value = '1.1' WHERE seq = 502", /Batch 126/],
  'a changed time': ['UPDATE log SET utc_us = utc_us + 1 WHERE seq = 503', /Batch 126/],
  'a changed monotonic time': ['UPDATE log SET mono_us = mono_us + 1 WHERE seq = 503', /Batch 126/],
  'a changed mark': ['UPDATE log SET marks = 1 WHERE seq = 503', /Batch 126/],
  'a changed channel': ['UPDATE log SET source = 2 WHERE seq = 501', /Batch 126/],
  'a deleted reading': ['DELETE FROM log WHERE seq = 777', /Reading 777 is missing/],
  'a replaced reading': ["INSERT OR REPLACE INTO log VALUES (9, 1, 0, 0, '1', '=', 0)", /Batch 3 /],
  'a reading added at the end': [
    "INSERT INTO log VALUES (5000, 1, 0, 0, '1', '=', 0)",
    /Reading 5000 stands outside the chain/,
  ],
  'two readings that changed places': [
    'UPDATE log SET seq = 9999 WHERE seq = 10; UPDATE log SET seq = 10 WHERE seq = 11; UPDATE log SET seq = 11 WHERE seq = 9999',
    /Batch 3 /,
  ],
  'a changed event': ["UPDATE event SET words = 'nothing' WHERE n = 2", /Batch 51 .*events 2 to 2/],
  'a deleted event': ['DELETE FROM event WHERE n = 3', /Event 3 is missing/],
  'a changed point': ["UPDATE point SET json = replace(json, '25', '26')", /Batch 201 .*points 1 to 1/],
  'a changed setup': ["UPDATE session SET setup = replace(setup, 'Quennick', 'Quonnick')", /Batch 1 /],
  'a changed operator': ["UPDATE session SET info = replace(info, 'A. Person', 'B. Person')", /Batch 1 /],
  'a renamed channel': ["UPDATE source SET channel = 'chX' WHERE id = 3", /Batch 1 /],
  'a changed unit': ["UPDATE source SET unit = 'ohm' WHERE id = 3", /Batch 1 /],
  'a renamed mark': ["UPDATE mark SET name = 'x' WHERE bit = 3", /Batch 1 /],
  'a deleted batch': ['DELETE FROM batch WHERE n = 100', /Batch 100 is missing/],
  'a changed working state': ["UPDATE working SET value = '{}'", /working state "runner"/],
  'a changed chunk': [
    'UPDATE chunk SET high = high + 1 WHERE id = (SELECT min(id) FROM chunk)',
    /chunk \d+ \(readings 1 to/,
  ],
  'a deleted chunk': [
    'DELETE FROM chunk WHERE id = (SELECT max(id) FROM chunk)',
    /reading 4 lies in no chunk/,
  ],
  'changed cells of a chunk': ['UPDATE chunk_cells SET cells = zeroblob(16)', /chunk \d+ \(readings 1 to/],
  'a changed body of a chunk': ['UPDATE chunk_body SET body = zeroblob(100)', /chunk \d+ \(readings 1 to/],
  'a chunk without its body': ['DELETE FROM chunk_body', /chunk \d+ \(readings 1 to/],
  'readings hidden from overviews': [
    'DELETE FROM chunk; DELETE FROM chunk_cells; DELETE FROM chunk_body; UPDATE sealed SET chunks = 0',
    /reading 1 lies in no chunk/,
  ],
  'a channel that is not accounted for': ['DELETE FROM sealed WHERE channel = 2', /channel 2 lie in chunks/],
  'a dropped trigger': ['DROP TRIGGER log_no_update', /Missing in the file: trigger log_no_update/],
  'an added trigger': [
    'CREATE TRIGGER quiet BEFORE INSERT ON log BEGIN SELECT RAISE(IGNORE); END',
    /Added to the file: trigger quiet/,
  ],
  'a changed view': [
    'DROP VIEW reading; CREATE VIEW reading AS SELECT 1 AS seq',
    /Changed in the file: view reading/,
  ],
}

describe('verifySession', () => {
  const path = join(sharedFolder(), 'whole.stillpoint')
  const anchor = write(path)

  it('finds an untouched session whole, also while it is being written', () => {
    const result = verifySession(path, { anchors: [anchor] })
    expect(result).toMatchObject({
      whole: true,
      readings: BATCHES * CHANNELS,
      batches: BATCHES + 1,
      firstBreak: null,
    })
    expect(result.head).toBe(anchor.head)
    const writing = join(temporaryFolder(), 'a.stillpoint')
    copyFileSync(path, writing)
    const file = openSessionFile(writing, { mode: 'write', clock: exampleClock() })
    file.annotate('A. Person', 'later')
    expect(verifySession(writing, { anchors: [anchor] }).whole).toBe(true)
    file.close()
  })

  for (const [what, [sql, named]] of Object.entries(TAMPERINGS)) {
    it(`names ${what}`, () => {
      const copy = join(temporaryFolder(), 'a.stillpoint')
      copyFileSync(path, copy)
      const db = new Database(copy)
      const triggers = db.prepare("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").all() as {
        name: string
        sql: string
      }[]
      const schemaAct = /TRIGGER|VIEW/.test(sql)
      // Whoever can write the file can drop the triggers and put them back.
      if (!schemaAct) for (const { name } of triggers) db.exec(`DROP TRIGGER ${name}`)
      db.exec(sql)
      if (!schemaAct) for (const trigger of triggers) db.exec(trigger.sql)
      db.close()
      const result = verifySession(copy)
      expect(result.whole).toBe(false)
      expect(result.firstBreak).toMatch(named)
    })
  }

  it('says how far a broken session is whole, and with which head it is so', () => {
    const changed = (sql: string, trigger = 'log_no_update') => {
      const copy = join(temporaryFolder(), 'a.stillpoint')
      copyFileSync(path, copy)
      const db = new Database(copy)
      const text = db.prepare('SELECT sql FROM sqlite_schema WHERE name = ?').pluck().get(trigger)
      db.exec(`DROP TRIGGER ${trigger}; ${sql}; ${String(text)}`)
      const hash = db.prepare('SELECT lower(hex(hash)) FROM batch WHERE n = 125').pluck().get()
      db.close()
      return { result: verifySession(copy), hash }
    }
    // Reading 501 is the first of the 126th scan of four.
    const { result, hash } = changed(`UPDATE log SET raw = '9' WHERE seq = 501`)
    expect(result).toMatchObject({ whole: false, readings: 500, batches: 125, head: hash })
    expect(result.words).toMatch(/^Broken after 500 readings in 125 batches that are whole\. Batch 126/)
    // What the chain begins from stands before the first batch; nothing does where the description of the tables is another.
    const none = { whole: false, readings: 0, batches: 0 }
    const first = changed(`UPDATE log SET raw = '9' WHERE seq = 1`).result
    expect(first).toMatchObject({ ...none, head: expect.stringMatching(/^[0-9a-f]{64}$/) })
    expect(changed('CREATE TABLE more (n)').result).toMatchObject({ ...none, head: '' })
    const text = join(temporaryFolder(), 'text.stillpoint')
    writeFileSync(text, 'no database')
    expect(verifySession(text)).toMatchObject({
      ...none,
      head: '',
      firstBreak: expect.stringContaining(text),
    })
    expect(() => verifySession(`${text}.gone`)).toThrow('There is no file')
  })

  it('refuses numbers of a batch that no batch of the program has, without going through them', () => {
    for (const [column, what] of [
      ['last_seq', 'lastSeq'],
      ['last_event', 'lastEvent'],
      ['last_point', 'lastPoint'],
      ['last_source', 'lastSource'],
      ['last_mark', 'lastMark'],
    ]) {
      for (const [n, set] of [
        [1, '1000001'],
        [200, `${column} + 1000001`],
        [200, '-1'],
      ] as const) {
        const copy = join(temporaryFolder(), 'a.stillpoint')
        copyFileSync(path, copy)
        const db = new Database(copy)
        const text = db.prepare(`SELECT sql FROM sqlite_schema WHERE name = 'batch_no_update'`).pluck().get()
        db.exec(
          `DROP TRIGGER batch_no_update; UPDATE batch SET ${column} = ${set} WHERE n = ${n}; ${String(text)}`,
        )
        db.close()
        expect(verifySession(copy).firstBreak).toContain(`Batch ${n} claims rows that no batch has (${what} `)
      }
    }
  })

  it('finds with the head noted elsewhere that the end was cut off or the chain written anew', () => {
    const folder = temporaryFolder()
    const cut = join(folder, 'cut.stillpoint')
    copyFileSync(path, cut)
    const db = new Database(cut)
    for (const table of ['log', 'event', 'batch']) db.exec(`DROP TRIGGER ${table}_no_delete`)
    const last = db.prepare('SELECT last_seq, last_event FROM batch WHERE n = 250').get() as {
      last_seq: number
      last_event: number
    }
    db.exec(
      `DELETE FROM batch WHERE n > 250; DELETE FROM log WHERE seq > ${last.last_seq}; DELETE FROM chunk;
       DELETE FROM chunk_cells; DELETE FROM chunk_body; UPDATE sealed SET chunks = 0, through_seq = 0`,
    )
    db.exec(`DELETE FROM event WHERE n > ${last.last_event}`)
    for (const table of ['log', 'event', 'batch'])
      db.exec(
        `CREATE TRIGGER ${table}_no_delete BEFORE DELETE ON ${table} BEGIN SELECT RAISE(ABORT, '${table} is append-only'); END`,
      )
    db.close()
    expect(verifySession(cut).firstBreak).toBeNull()
    expect(verifySession(cut, { anchors: [anchor] }).firstBreak).toMatch(/The end was cut off/)
    const anew = join(folder, 'anew.stillpoint')
    const file = createSessionFile(anew, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
    for (let tick = 0; tick <= BATCHES; tick++) file.commit({ readings: scan(tick, CHANNELS) })
    file.close()
    expect(verifySession(anew).whole).toBe(true)
    expect(verifySession(anew, { anchors: [anchor] }).firstBreak).toMatch(/written anew/)
  })
})
