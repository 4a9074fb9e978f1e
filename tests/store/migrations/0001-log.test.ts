import Database from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import step from '../../../main/store/migrations/session/0001-log.ts'

describe('0001-log', () => {
  it('makes strict, append-only tables and a view that a person can read', () => {
    const db = new Database(':memory:')
    step.up(db)
    const tables = db
      .prepare("SELECT name, strict FROM pragma_table_list WHERE type = 'table' AND name NOT LIKE 'sqlite%'")
      .all()
    expect(tables).toHaveLength(8)
    for (const table of tables) expect(table).toMatchObject({ strict: 1 })
    db.exec(`INSERT INTO mark VALUES (2, 'late'), (5, 'stuck'); INSERT INTO source VALUES (1, 'ch1', 'ohm', 1.0);
      INSERT INTO log (source, utc_us, mono_us, raw, value, marks) VALUES (1, 1500001, 7, '+1.2300', '=', 36)`)
    expect(db.prepare('SELECT * FROM reading').get()).toEqual({
      seq: 1,
      channel: 'ch1',
      utc: '1970-01-01T00:00:01.500001Z',
      utc_us: 1500001,
      mono_us: 7,
      raw: '+1.2300',
      value: '+1.2300',
      unit: 'ohm',
      current_ma: 1,
      marks: 36,
      mark_names: 'late stuck',
    })
    for (const sql of [
      'DELETE FROM log',
      'UPDATE log SET raw = 1',
      "INSERT INTO log VALUES (2, 1, 0, 0, '', '', 0)",
    ])
      expect(() => db.exec(sql)).toThrow(/append-only/)
    expect(() => db.exec("INSERT INTO log VALUES (-1, 1, 0, 0, '', '', 0)")).toThrow(/CHECK/)
    db.close()
  })
})
