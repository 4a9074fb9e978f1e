import { readdirSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { MARK_NAMES } from '../../app/records/mark.ts'
import { type NewReading, RAW_UNITS } from '../../app/records/reading.ts'
import { createSessionFile, openSessionFile } from '../../main/store/session-file.ts'
import {
  exampleClock,
  exampleEvent,
  exampleInfo,
  exampleSetup,
  START_UTC_US,
  scan,
  temporaryFolder,
} from './example.ts'

const create = (path: string) =>
  createSessionFile(path, { info: exampleInfo, setup: exampleSetup, clock: exampleClock() })

describe('createSessionFile', () => {
  it('refuses to write over a file', () => {
    const path = join(temporaryFolder(), 'a.stillpoint')
    create(path).close()
    expect(() => create(path)).toThrow(/exists already/)
  })
})

describe('SessionFile', () => {
  it('gives back what was committed, after it was closed and opened again', () => {
    const path = join(temporaryFolder(), 'a.stillpoint')
    const file = create(path)
    expect(file.commit({ readings: scan(0, 3), events: [exampleEvent('begun')] })).toEqual({
      firstSeq: 1,
      lastSeq: 3,
      firstEvent: 1,
    })
    expect(file.commit({ readings: scan(1, 3), runner: { phase: 'waiting', step: 2 } })).toEqual({
      firstSeq: 4,
      lastSeq: 6,
      firstEvent: 2,
    })
    const head = file.head()
    file.close()
    const again = openSessionFile(path, { mode: 'write', clock: exampleClock() })
    expect(again.head()).toBe(head)
    expect(again.since(0, 100)).toEqual([...scan(0, 3), ...scan(1, 3)].map((r, i) => ({ seq: i + 1, ...r })))
    expect(again.events().map(({ n, words }) => [n, words])).toEqual([[1, 'begun']])
    expect(again.runnerState()).toEqual({ phase: 'waiting', step: 2 })
    expect(again.commit({ readings: scan(2, 3) }).firstSeq).toBe(7)
    again.close()
  })

  it('keeps every reading to the last character', () => {
    const decimal = fc.double({ noNaN: true, noDefaultInfinity: true }).map((v) => v.toExponential())
    const newReading: fc.Arbitrary<NewReading> = fc
      .record({
        channel: fc.constantFrom('ch1', 'ch2', 'bath'),
        utcUs: fc.integer({ min: 0, max: 4e15 }),
        monoUs: fc.integer({ min: 0, max: 4e14 }),
        raw: fc.oneof(decimal, fc.string({ unit: 'grapheme' }), fc.string({ unit: 'binary-ascii' })),
        value: fc.oneof(fc.constant(null), decimal, fc.constant('raw')),
        unit: fc.constantFrom(...RAW_UNITS),
        marks: fc.subarray([...MARK_NAMES]),
        currentMa: fc.option(fc.double({ min: 0, max: 100, noNaN: true })),
      })
      .map((r) => ({ ...r, value: r.value === 'raw' ? (r.raw === '=' ? null : r.raw) : r.value }))
    const folder = temporaryFolder()
    let run = 0
    fc.assert(
      fc.property(fc.array(fc.array(newReading, { maxLength: 40 }), { maxLength: 5 }), (batches) => {
        const path = join(folder, `${++run}.stillpoint`)
        const file = create(path)
        for (const readings of batches) file.commit({ readings })
        file.close()
        const read = openSessionFile(path, { mode: 'read' })
        const expected = batches.flat().map((reading, i) => ({ seq: i + 1, ...reading }))
        expect(read.since(0, 1000)).toEqual(expected)
        for (const channel of ['ch1', 'ch2', 'bath'])
          expect(read.readings({ channel, most: 1000 })).toEqual(
            expected.filter((r) => r.channel === channel),
          )
        read.close()
      }),
      { numRuns: 60 },
    )
  })

  it('stores nothing of a batch that cannot be stored whole', () => {
    const file = create(join(temporaryFolder(), 'a.stillpoint'))
    file.commit({ readings: scan(0, 2) })
    const bad = { ...scan(1, 1)[0]!, channel: 'new', utcUs: 0.5 }
    expect(() => file.commit({ readings: [...scan(1, 2), bad], events: [exampleEvent('lost')] })).toThrow()
    expect(file.lastSeq).toBe(2)
    expect(file.channels).toEqual(['ch1', 'ch2'])
    expect(file.commit({ readings: [{ ...bad, utcUs: 5 }] })).toEqual({
      firstSeq: 3,
      lastSeq: 3,
      firstEvent: 1,
    })
    expect(file.since(2, 9)[0]!.channel).toBe('new')
    file.close()
  })

  it('refuses plain edits, deletions and replacements of what is stored, from any connection', () => {
    const path = join(temporaryFolder(), 'a.stillpoint')
    const file = create(path)
    file.commit({ readings: scan(0, 2), events: [exampleEvent('begun')] })
    file.close()
    const other = new Database(path)
    other.pragma('recursive_triggers = OFF')
    for (const sql of [
      "UPDATE log SET raw = '1' WHERE seq = 1",
      'DELETE FROM log WHERE seq = 1',
      "INSERT OR REPLACE INTO log VALUES (1, 1, 0, 0, '1', '=', 0)",
      "INSERT INTO log VALUES (1, 1, 0, 0, '1', '=', 0) ON CONFLICT DO UPDATE SET raw = '2'",
      "INSERT OR REPLACE INTO event VALUES (1, 0, 0, 'note', 'x', NULL, 'x', '{}')",
      "UPDATE event SET words = 'x'",
      'DELETE FROM event',
      'DELETE FROM batch',
      "UPDATE session SET info = '{}'",
      "INSERT OR REPLACE INTO session VALUES (1, '{}', '{}')",
      "UPDATE source SET channel = 'x'",
      "UPDATE mark SET name = 'x'",
    ])
      expect(() => other.exec(sql), sql).toThrow(/append-only/)
    other.close()
  })

  it('says how it ended, until it is resumed', () => {
    const path = join(temporaryFolder(), 'a.stillpoint')
    const file = create(path)
    expect(file.info.ending).toBeNull()
    file.finish('stopped-by-person', 'lunch')
    expect(file.info).toMatchObject({ ending: 'stopped-by-person', endingReason: 'lunch' })
    file.commit({ events: [{ ...exampleEvent('goes on'), kind: 'resumed' }] })
    expect(file.info.ending).toBeNull()
    file.close()
  })

  it('keeps amendments and sign-offs as new rows with who, when and why', () => {
    const file = create(join(temporaryFolder(), 'a.stillpoint'))
    file.commit({ readings: scan(0, 2) })
    const head = file.head()
    file.amend({ target: { what: 'point', point: 'p1', channel: 'ch2' }, who: 'A. Person', why: 'draught' })
    const correction = {
      kind: 'amendment' as const,
      who: 'C. Person',
      data: { why: 'typing error', register: {} },
    }
    file.commit({ events: [{ ...exampleEvent('R(WTP) corrected'), ...correction }] })
    file.signOff({ who: 'B. Person', remark: 'fine' })
    expect(file.amendments).toMatchObject([
      {
        who: 'A. Person',
        why: 'draught',
        restore: false,
        target: { what: 'point', point: 'p1', channel: 'ch2' },
      },
      { who: 'C. Person', why: 'typing error', restore: false, target: null },
    ])
    expect(file.signOffs).toMatchObject([{ who: 'B. Person', remark: 'fine', readings: 2 }])
    expect(file.signOffs[0]!.head).not.toBe(head)
    expect(file.signOffs[0]!.head).not.toBe(file.head())
    file.close()
  })

  it('finds the last readings of a channel within a window', () => {
    const file = create(join(temporaryFolder(), 'a.stillpoint'))
    for (let tick = 0; tick < 3000; tick += 10)
      file.commit({ readings: Array.from({ length: 10 }, (_, i) => scan(tick + i, 2)).flat() })
    const last = file.lastReadings('ch2', 10_000_000)
    expect(last.map(({ monoUs }) => monoUs)).toEqual(
      Array.from({ length: 11 }, (_, i) => (2989 + i) * 1_000_000 + 10_000),
    )
    const earlier = file.lastReadings('ch2', 2_000_000, 100_500_000)
    expect(earlier.map(({ monoUs }) => monoUs)).toEqual([99_010_000, 100_010_000])
    expect(file.lastReadings('none', 1)).toEqual([])
    file.close()
  })

  it('finds the last reading of a channel that is read seldom without looking through all the others', () => {
    const path = join(temporaryFolder(), 'a.stillpoint')
    const file = create(path)
    file.commit({ readings: [{ ...scan(0, 1)[0]!, channel: 'room' }] })
    for (let tick = 1; tick < 20_000; tick += 200)
      file.commit({ readings: Array.from({ length: 200 }, (_, i) => scan(tick + i, 2)).flat() })
    for (const open of [file, openSessionFile(path, { mode: 'read' })]) {
      expect(open.lastReadings('room', 1e9).map(({ seq }) => seq)).toEqual([1])
      expect(open.lastReadings('ch1', 0)).toHaveLength(1)
      expect(open.lastReadings('none', 1e9)).toEqual([])
    }
    expect(file.walBytes).toBeGreaterThan(0)
    file.close()
  })

  it('is one plain file after its end, and takes a note beside an open reader', () => {
    const folder = temporaryFolder()
    const path = join(folder, 'a.stillpoint')
    const file = create(path)
    file.commit({ readings: scan(0, 2) })
    file.finish('complete', 'done')
    file.close()
    expect(readdirSync(folder)).toEqual(['a.stillpoint'])
    const reader = openSessionFile(path, { mode: 'read' })
    expect(reader.since(0, 9)).toHaveLength(2)
    expect(readdirSync(folder), 'reading leaves nothing beside it').toEqual(['a.stillpoint'])
    const writer = openSessionFile(path, { mode: 'write', clock: exampleClock() })
    writer.annotate('A. Person', 'looked at again')
    writer.close()
    expect(reader.events().at(-1)!.words).toBe('looked at again')
    expect(reader.info.ending).toBe('complete')
    expect(reader.overview({ channel: 'ch1', buckets: 10 }).n).toHaveLength(1)
    reader.close()
    const last = openSessionFile(path, { mode: 'write', clock: exampleClock() })
    last.close()
    expect(readdirSync(folder)).toEqual(['a.stillpoint'])
  })

  it('refuses to write when opened for reading', () => {
    const path = join(temporaryFolder(), 'a.stillpoint')
    create(path).close()
    const file = openSessionFile(path, { mode: 'read' })
    expect(() => file.commit({ readings: scan(0, 1) })).toThrow(/open for reading/)
    expect(() => file.annotate('A. Person', 'x')).toThrow(/open for reading/)
    file.close()
  })

  it('shows a reader what a writer commits meanwhile', () => {
    const path = join(temporaryFolder(), 'a.stillpoint')
    const writer = create(path)
    const reader = openSessionFile(path, { mode: 'read' })
    expect(reader.overview({ channel: 'ch1', buckets: 10 }).n).toHaveLength(0)
    let tick = 0
    for (const until of [10, 5000, 9000]) {
      while (tick < until)
        writer.commit({ readings: Array.from({ length: 10 }, () => scan(tick++, 2)).flat() })
      const overview = reader.overview({ channel: 'ch2', buckets: 10 })
      expect(overview.n.reduce((sum, n) => sum + n, 0)).toBe(until)
      expect(
        reader.readings({ channel: 'ch2', fromUtcUs: START_UTC_US + (until - 2) * 1e6, most: 10 }),
      ).toHaveLength(2)
      expect(reader.since(2 * until - 1, 5)).toHaveLength(1)
    }
    reader.close()
    writer.close()
  })
})
