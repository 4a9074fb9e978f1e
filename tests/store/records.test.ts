import { statSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import fc from 'fast-check'
import { describe, expect, it, onTestFinished } from 'vitest'
import { Resistor, Thermometer } from '../../app/records/register.ts'
import { applyChange, type Change, changeOf, type Whole } from '../../main/store/records/change.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { exampleClock, temporaryFolder } from './example.ts'

const act = { who: 'A. Person', why: 'test' }

function open(folder = temporaryFolder()) {
  const store = openStationStore(folder, { clock: exampleClock() })
  onTestFinished(() => store.close())
  return store
}

const thermometer = (id: string, more: Partial<Thermometer> = {}) =>
  Thermometer.parse({ id, name: `Thermometer ${id}`, kind: 'prt', lowC: 0, highC: 100, ...more })

const resistor = (years: number) =>
  Resistor.parse({
    ...{ id: 'rs', name: 'Rs', nominalOhm: 100, keptAtC: 20, uKeptAtK: 0.01 },
    calibrations: Array.from({ length: years }, (_, i) => ({
      ...{ id: `c${i}`, date: `${1980 + i}-01-10`, certificate: `K-${i}`, laboratory: 'Somewhere else' },
      ...{ ohm: `100.000${i}`, celsius: 20, expandedRelative: 1e-6 },
    })),
  })

describe('a change of a record', () => {
  const value = fc.oneof(fc.integer({ min: 0, max: 3 }), fc.constantFrom('a', 'b'))
  const whole = fc.dictionary(
    fc.constantFrom('name', 'note', 'list', 'other'),
    fc.oneof(value, fc.array(value, { maxLength: 5 })),
  )

  it('leads from any record to any other, after any way through others', () => {
    fc.assert(
      fc.property(fc.array(whole, { minLength: 1, maxLength: 8 }), (path) => {
        let before: Whole | undefined
        let replayed: Whole | undefined
        for (const after of path) {
          const change = JSON.parse(JSON.stringify(changeOf(before, after, ['list']))) as Change
          replayed = applyChange(replayed, change)
          expect(replayed).toEqual(after)
          before = after
        }
      }),
    )
  })

  it('holds of a list that grew at either end what was added, and nothing else', () => {
    const before = { list: [1, 2, 3] }
    expect(changeOf(before, { list: [1, 2, 3, 4] }, ['list'])).toEqual({ lists: { list: [3, 0, [4]] } })
    expect(changeOf(before, { list: [0, 1, 2, 3] }, ['list'])).toEqual({ lists: { list: [0, 3, [0]] } })
    expect(changeOf(before, { list: [1, 3] }, ['list'])).toEqual({ lists: { list: [1, 1, []] } })
    expect(changeOf(before, { list: [1, 2, 3] }, ['list'])).toEqual({})
  })
})

describe('Records', () => {
  it('stores of fifty calibrations saved one by one about what fifty take, not their square', () => {
    const bytesAfter = (years: number) => {
      const folder = temporaryFolder()
      const store = openStationStore(folder, { clock: exampleClock() })
      for (let n = 1; n <= years; n += 1) store.saveResistor(resistor(n), 'A. Person', 'calibrated')
      store.close()
      return statSync(join(folder, 'station.db')).size
    }
    const none = bytesAfter(1)
    expect((bytesAfter(400) - none) / (bytesAfter(200) - none)).toBeLessThan(2.3)
  })

  it('gives every version of a record as it was, and the ledger the record before and after', () => {
    const store = open()
    for (const years of [1, 3, 2]) store.saveResistor(resistor(years), 'A. Person', `${years}`)
    expect(store.records.versions('resistor', 'rs').map(({ value }) => value)).toEqual(
      [1, 3, 2].map((years) => resistor(years)),
    )
    const [third] = store.ledger({ subject: 'rs' })
    expect(Resistor.parse(JSON.parse(third!.old!))).toEqual(resistor(3))
    expect(Resistor.parse(JSON.parse(third!.new!))).toEqual(resistor(2))
  })

  it('finds records by the beginnings of words, of serial numbers and of what the row does not show', () => {
    const store = open()
    store.records.saveAll(
      [
        thermometer('t1', { serial: 'Q-17/203', owner: 'Brückenwerk', note: 'bent' }),
        thermometer('t2', { serial: 'Q-18' }),
        thermometer('t3', { maker: 'Somebody' }),
      ].map((value) => ({ kind: 'thermometer' as const, value })),
      act,
    )
    const found = (search: string) =>
      store.records.list({ kinds: ['thermometer'], search }).rows.map(({ id }) => id)
    expect(found('q')).toEqual(['t1', 't2'])
    expect(found('Q-17')).toEqual(['t1'])
    expect(found('203')).toEqual(['t1'])
    expect(found('bruck BENT')).toEqual(['t1'])
    expect(found('some thermometer')).toEqual(['t3'])
    expect(found('"')).toEqual(['t1', 't2', 't3'])
    expect(found('NEAR( OR * t2')).toEqual([])
    expect(found('nothing')).toEqual([])
    expect(() => found('word '.repeat(2000))).toThrow(/A search takes up to 32 words/)
    expect(() => found('x'.repeat(10_000))).toThrow(/1000 characters/)
  })

  it('lists in pages that cover all of it once, however it is sorted', () => {
    const store = open()
    const all = Array.from({ length: 57 }, (_, i) =>
      thermometer(`t${i}`, { name: `Same ${i % 3}`, owner: i % 2 ? 'A' : 'b' }),
    )
    store.records.saveAll(
      all.map((value) => ({ kind: 'thermometer' as const, value })),
      act,
    )
    for (const sort of ['name', 'owner', 'due', 'changed'] as const)
      for (const reverse of [false, true]) {
        const seen: string[] = []
        for (let from = 0; from < 57; from += 10) {
          const { total, rows } = store.records.list({
            kinds: ['thermometer'],
            sort,
            reverse,
            from,
            most: 10,
          })
          expect(total).toBe(57)
          seen.push(...rows.map(({ id }) => id))
        }
        expect(seen.sort()).toEqual(all.map(({ id }) => id).sort())
      }
  })

  it('retires a record from the lists and brings it back, and the ledger has both', () => {
    const store = open()
    store.saveThermometer(thermometer('t1'), 'A. Person', 'new')
    store.records.retire('thermometer', 't1', { who: 'B. Person', why: 'broken' })
    expect(store.records.list({ kinds: ['thermometer'] }).total).toBe(0)
    expect(store.records.list({ kinds: ['thermometer'], states: ['retired'] }).total).toBe(1)
    expect(store.records.one('thermometer', 't1')?.id).toBe('t1')
    store.saveThermometer(thermometer('t1', { note: 'glass' }), 'A. Person', 'noted')
    expect(store.records.list({ kinds: ['thermometer'] }).total, 'still retired').toBe(0)
    store.records.bringBack('thermometer', 't1', act)
    expect(store.records.list({ kinds: ['thermometer'] }).total).toBe(1)
    expect(store.ledger({ subject: 't1' }).map(({ what }) => what)).toEqual([
      'thermometer brought back',
      'thermometer saved',
      'thermometer retired',
      'thermometer saved',
    ])
    expect(() => store.records.retire('thermometer', 'none', act)).toThrow(/There is no thermometer "none"/)
  })

  it('takes what a damaged row had from the versions, and names a damaged version', () => {
    const folder = temporaryFolder()
    const store = open(folder)
    store.saveResistor(resistor(2), 'A. Person', 'new')
    store.saveThermometer(thermometer('t1'), 'A. Person', 'new')
    const db = new Database(join(folder, 'station.db'))
    onTestFinished(() => void db.close())
    db.exec(`UPDATE part SET json = '{"id' WHERE place = 1; UPDATE record SET facts = '{' WHERE id = 'rs'`)
    expect(store.records.one('resistor', 'rs')).toEqual(resistor(2))
    expect(store.records.list({ kinds: ['resistor'] }).rows).toMatchObject([{ id: 'rs', facts: {} }])
    store.saveResistor(resistor(3), 'A. Person', 'mended by the next save')
    expect(db.prepare('SELECT json FROM part WHERE place = 1').pluck().get()).toContain('"c1"')
    db.exec(`DROP TRIGGER version_no_update; UPDATE version SET change = '{"set' WHERE id = 'rs' AND rev = 1`)
    expect(store.records.one('resistor', 'rs')).toEqual(resistor(3))
    expect(() => store.records.versions('resistor', 'rs')).toThrow(
      /Version 1 of resistor "rs" .* not readable/,
    )
    expect(store.records.verify().firstBreak).toBe('Version 1 of resistor rs is not what was written.')
    expect(store.records.one('thermometer', 't1')?.id).toBe('t1')
  })

  it('keeps half a character that a program sent as what it was hashed as', () => {
    const store = open()
    store.saveThermometer(thermometer('t1', { name: 'a\ud800' }), 'B\ud800', 'why\udc00')
    expect(store.records.verify().whole).toBe(true)
    expect(store.verifyLedger().whole).toBe(true)
  })
})
