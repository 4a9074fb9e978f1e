import { join } from 'node:path'
import Database from 'better-sqlite3'
import { describe, expect, it } from 'vitest'
import type { NewReading } from '../../app/records/reading.ts'
import { numberOf } from '../../main/store/rows.ts'
import { createSessionFile, openSessionFile, type SessionFile } from '../../main/store/session-file.ts'
import { exampleClock, exampleInfo, exampleSetup, scan, temporaryFolder } from './example.ts'
import { OLD_SCANS, writeOldSession } from './old-session.ts'

/** All that the pages after a seq say, and all that the log says. */
function both(file: SessionFile, afterSeq: number, most: number) {
  const paged = []
  for (const page of file.pages(afterSeq, most))
    for (let i = 0; i < page.count; i++) {
      const seq = page.seq[i]!
      const { channel, unit, currentMa } = file.numbering.sourceOf(page.source[i]!, seq)
      paged.push({
        seq,
        channel,
        unit,
        currentMa,
        utcUs: page.utcUs[i]!,
        monoUs: page.monoUs[i]!,
        number: page.value[i]!,
        marks: file.numbering.marksOf(page.marks[i]!),
      })
    }
  const logged = file
    .since(afterSeq, 1e6)
    .map(({ raw, value, ...reading }) => ({ ...reading, number: numberOf(raw, value) }))
  return { paged, logged }
}

function expectSame(file: SessionFile, count: number): void {
  for (const [afterSeq, most] of [
    [0, 1000],
    [0, 7919],
    [12_345, 4000],
    [count - 3, 50],
  ] as const) {
    const { paged, logged } = both(file, afterSeq, most)
    expect(paged.length).toBe(count - afterSeq)
    expect(paged).toEqual(logged)
  }
}

/** Channels with rates, units, currents and marks of their own, and a clock that is set. */
function readingsOf(tick: number): NewReading[] {
  const readings = scan(tick, 3).map((r) => (tick > 2500 ? { ...r, utcUs: r.utcUs - 600_000_000 } : r))
  if (tick % 7 === 1)
    readings.push({
      ...readings[0]!,
      raw: '9.9E37',
      value: null,
      marks: ['over-range'],
      currentMa: Math.SQRT2,
    })
  if (tick % 2 === 0) readings.splice(1, 1)
  if (tick === 2000) readings.push({ ...readings[0]!, channel: 'room', unit: 'degC', currentMa: null })
  return readings
}

describe('SessionFile.pages', () => {
  it('says the same of every reading as the log, while writing, in chunks, half in chunks and after the end', () => {
    const path = join(temporaryFolder(), 'a.stillpoint')
    const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
    for (let tick = 0; tick < 9000; tick += 10)
      file.commit({ readings: Array.from({ length: 10 }, (_, i) => readingsOf(tick + i)).flat() })
    const count = file.readingCount
    expect(file.database.prepare('SELECT count(*) FROM chunk').pluck().get()).toBeGreaterThan(3)
    expectSame(file, count)
    const reader = openSessionFile(path, { mode: 'read' })
    expectSame(reader, count)
    file.finish('complete', 'done')
    expectSame(reader, count)
    reader.close()
    file.close()

    // What the chunks do not hold whole, the log says.
    const db = new Database(path)
    db.exec('DELETE FROM chunk WHERE id = (SELECT max(id) FROM chunk)')
    db.exec('UPDATE chunk_body SET body = zeroblob(40) WHERE id = (SELECT max(id) FROM chunk)')
    db.close()
    const damaged = openSessionFile(path, { mode: 'read' })
    expectSame(damaged, count)
    damaged.close()
  })

  it('takes from the chunks what they hold, without a look at the log', () => {
    const path = join(temporaryFolder(), 'a.stillpoint')
    const file = createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })
    for (let tick = 0; tick < 4000; tick += 10)
      file.commit({ readings: Array.from({ length: 10 }, (_, i) => readingsOf(tick + i)).flat() })
    file.finish('complete', 'done')
    file.close()
    const whole = openSessionFile(path, { mode: 'read' })
    const expected = both(whole, 0, 777).logged
    whole.close()
    const db = new Database(path)
    for (const name of db
      .prepare<[], string>("SELECT name FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = 'log'")
      .pluck()
      .all())
      db.exec(`DROP TRIGGER ${name}`)
    db.exec('DELETE FROM log')
    db.close()
    const withoutLog = openSessionFile(path, { mode: 'read' })
    expect(both(withoutLog, 0, 777)).toEqual({ paged: expected, logged: [] })
    withoutLog.close()
  })

  it('reads older files from their log', () => {
    const old = openSessionFile(writeOldSession(temporaryFolder(), 2), { mode: 'read' })
    const { paged, logged } = both(old, 100, 999)
    const logged0 = old.between(1, 1)[0]!
    expect(paged).toHaveLength(5 * OLD_SCANS - 100)
    expect(paged).toEqual(logged)
    // From the very first reading on: an old file's readings are numbered from 1, five channels in turn.
    const seqs = old.readings({ channel: 'ch1', most: 3 }).map(({ seq }) => seq)
    expect(seqs).toEqual([1, 6, 11])
    const { seq, value } = old.columns({ channel: 'ch1' })
    expect(seq).toHaveLength(OLD_SCANS)
    expect([seq[0], value[0]]).toEqual([1, Number(logged0.value)])
    old.close()
  })
})
