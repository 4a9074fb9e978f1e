import { createHash } from 'node:crypto'
import { readdirSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { describe, expect, it, onTestFinished } from 'vitest'
import { SESSION_SORTS } from '../../../app/contract/pages.ts'
import { Bench } from '../../../app/records/bench.ts'
import { surveyOf } from '../../../app/results/uniformity.ts'
import { Ledger } from '../../../main/store/ledger.ts'
import { migrate } from '../../../main/store/migrate.ts'
import { stationMigrations } from '../../../main/store/migrations/station/index.ts'
import { changeOf } from '../../../main/store/records/change.ts'
import { Versions } from '../../../main/store/records/versions.ts'
import { sessionOrder } from '../../../main/store/session-list.ts'
import { createDatabase } from '../../../main/store/sqlite.ts'
import { openStationStore } from '../../../main/store/station-store.ts'
import { exampleClock, exampleInfo, temporaryFolder } from '../example.ts'

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
      /written by a newer Stillpoint \(form 99 .* up to \d+\)/,
    )
    expect(() => openStationStore(folder, options), 'the folder was let go').toThrow(/newer/)
  })
})

/** A station.db as the form before kept it: whole texts in `entry`, and again in the ledger. */
function oldStation(form: number): string {
  const folder = temporaryFolder()
  const db = createDatabase(join(folder, 'station.db'), 'station')
  migrate(db, stationMigrations, form)
  const enter = db.prepare('INSERT INTO ledger VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)')
  let head = '0'.repeat(64)
  const before = new Map<string, string | null>()
  const put = db.prepare('INSERT INTO entry VALUES (?, ?, ?, ?, ?)')
  let n = 0
  const save = (kind: string, id: string, json: string | null, why: string) => {
    n += 1
    put.run(n, kind, id, n * 10, json)
    const old = before.get(id) ?? null
    const what = `${kind} ${json === null ? 'removed' : 'saved'}`
    const entry = [n, n * 10, `person ${n}`, what, id, old, json, why]
    head = createHash('sha256')
      .update(head + JSON.stringify(entry))
      .digest('hex')
    enter.run(...entry, head)
    before.set(id, json)
  }
  const resistor = (calibrations: object[]) =>
    JSON.stringify({ id: 'rs', name: 'Rs', nominalOhm: 100, keptAtC: 20, uKeptAtK: 0.01, calibrations })
  const calibration = (year: number) => ({
    ...{ id: `c${year}`, date: `${year}-01-10`, due: `${year + 1}-01-10`, certificate: `K-${year}` },
    ...{ laboratory: 'L', ohm: '100.0001', celsius: 20, expandedRelative: 1e-6 },
  })
  save('resistor', 'rs', resistor([calibration(2024)]), 'new')
  save('fluid', 'oil', '{"id":"oil","name":"Oil","lowC":20,"highC":150}', 'new')
  save('resistor', 'rs', resistor([calibration(2024), calibration(2025)]), 'calibrated again')
  save('fluid', 'oil', null, 'poured away')
  save('fluid', 'oil', '{"id":"oil","name":"Oil of another drum","lowC":20,"highC":150}', 'bought again')
  save('fluid', 'spoilt', '{"id":"spoilt","na', 'damaged before')
  db.close()
  return folder
}

describe('0003-records', () => {
  it.each([1, 2])(
    'takes every version, its author and its reason out of form %i, and keeps the file as it was',
    (form) => {
      const folder = oldStation(form)
      const store = openStationStore(folder, options)
      onTestFinished(() => store.close())
      expect(store.records.one('resistor', 'rs')?.calibrations.map(({ id }) => id)).toEqual([
        'c2024',
        'c2025',
      ])
      expect(store.records.versions('resistor', 'rs')).toMatchObject([
        { rev: 1, utcUs: 10, who: 'person 1', why: 'new', value: { calibrations: [{ id: 'c2024' }] } },
        { rev: 2, utcUs: 30, who: 'person 3', why: 'calibrated again' },
      ])
      expect(store.records.versions('fluid', 'oil').map(({ value, state }) => [value?.name, state])).toEqual([
        ['Oil', 'kept'],
        [undefined, 'removed'],
        ['Oil of another drum', 'kept'],
      ])
      const { total, rows } = store.records.list({ kinds: ['resistor', 'fluid'], sort: 'id' })
      expect(total).toBe(3)
      expect(rows).toMatchObject([
        { id: 'oil', name: 'Oil of another drum' },
        { id: 'rs', due: '2026-01-10', rev: 2, facts: { calibrations: 2 } },
        { id: 'spoilt', damaged: expect.stringMatching(/./) },
      ])
      expect(store.verifyLedger()).toMatchObject({ whole: true, entries: 6 })
      expect(store.records.verify()).toEqual({ whole: true, versions: 6, firstBreak: null })
      expect(store.ledger({ subject: 'spoilt' })[0]?.new, 'what was damaged before').toBe(
        '{"id":"spoilt","na',
      )
      const kept = new Database(join(folder, `station.db.form${form}`), { readonly: true })
      expect(kept.prepare('SELECT count(*) FROM entry').pluck().get()).toBe(6)
      kept.close()
      expect(readdirSync(folder).filter((name) => name.endsWith('.part'))).toEqual([])
    },
  )

  it('leaves the file as it was where a step fails, and lets the folder go', () => {
    const folder = oldStation(2)
    const path = join(folder, 'station.db')
    const db = new Database(path)
    // A table of that name stands in the way of the step.
    db.exec('CREATE TABLE version (x)')
    db.close()
    expect(() => openStationStore(folder, options)).toThrow(/version already exists/)
    const left = new Database(path, { readonly: true })
    expect(left.pragma('user_version', { simple: true })).toBe(2)
    expect(left.prepare('SELECT count(*) FROM entry').pluck().get()).toBe(6)
    left.close()
    expect(() => openStationStore(folder, options), 'the folder was let go').toThrow(/version already exists/)
  })

  it('finds a record, its versions and what is due by an index', () => {
    const db = new Database(':memory:')
    migrate(db, stationMigrations)
    const plan = (sql: string) =>
      (db.prepare(`EXPLAIN QUERY PLAN ${sql}`).all() as { detail: string }[])
        .map(({ detail }) => detail)
        .join()
    expect(plan("SELECT json FROM record WHERE kind = 'a' AND id = 'b'")).toMatch(/USING INDEX record_by_id/)
    expect(plan("SELECT change FROM version WHERE kind = 'a' AND id = 'b' ORDER BY rev")).toMatch(
      /USING INDEX version_by_id/,
    )
    expect(plan("SELECT id FROM record WHERE due <= '2026-01-01'")).toMatch(/USING INDEX record_by_due/)
    expect(plan("SELECT n FROM ledger WHERE subject = 'a' ORDER BY n DESC")).toMatch(/ledger_by_subject/)
    expect(plan("SELECT record FROM record_link WHERE role = 'order' AND id = 'a'")).toMatch(
      /record_link_by_id/,
    )
    db.close()
  })
})

describe('0004-lists', () => {
  it('takes the list of sessions and the ledger out of the form before, searched as before', () => {
    const folder = oldStation(2)
    const db = new Database(join(folder, 'station.db'))
    const row = (id: string, startedUtcUs: number, thermometers: string[]) => ({
      info: { ...exampleInfo, id, startedUtcUs, endedUtcUs: 9, name: `Night of ${id}` },
      ...{ readings: 12, points: 3, bytes: 4096, channels: ['ch1'], thermometers },
      ...{ sketch: [20.5, null, 21], signedOffBy: null, damaged: null },
    })
    const put = db.prepare('INSERT INTO session VALUES (?, ?, ?, ?, ?)')
    put.run('a', 'a.stillpoint', 1, 'a\nnight of a\n1970-01-01', JSON.stringify(row('a', 1, ['t1'])))
    put.run('b', 'b.stillpoint', 2, 'b\nnight of b', JSON.stringify(row('b', 2, ['t1', 't2'])))
    put.run('c', 'c.stillpoint', 3, 'c spoilt', '{"info":')
    db.close()
    const store = openStationStore(folder, options)
    onTestFinished(() => store.close())
    expect(store.sessions().map(({ info, damaged }) => [info.id, damaged === null])).toEqual([
      ['c', false],
      ['b', true],
      ['a', true],
    ])
    expect(store.sessions('1970-01')[0]).toEqual(row('a', 1, ['t1']))
    expect(store.sessions('night b').map(({ info }) => info.id)).toEqual(['b'])
    expect(store.ledger({ search: 'calibrated' }).map(({ n }) => n)).toEqual([3])
    expect(store.checkPoints.waiting('t2').next?.id).toBe('b')
  })

  it('finds sessions of a thermometer, those left open and those not looked at by an index', () => {
    const db = new Database(':memory:')
    migrate(db, stationMigrations)
    const plan = (sql: string) =>
      (db.prepare(`EXPLAIN QUERY PLAN ${sql}`).all() as { detail: string }[])
        .map(({ detail }) => detail)
        .join()
    expect(plan("SELECT session FROM session_thermometer WHERE thermometer = 'a'")).toMatch(/PRIMARY KEY/)
    expect(plan('SELECT id FROM session WHERE ended_utc_us IS NULL')).toMatch(/session_open/)
    expect(plan('SELECT id FROM session ORDER BY started_utc_us DESC, id DESC LIMIT 9')).toMatch(
      /session_by_start/,
    )
    expect(plan('SELECT count(*) FROM session WHERE looked_at IS NOT form')).toMatch(/session_not_looked_at/)
    expect(plan("SELECT date FROM check_point WHERE thermometer = 'a' ORDER BY date")).toMatch(
      /check_point_by_thermometer/,
    )
    db.close()
  })
})

describe('0005-drafts', () => {
  it('keeps what is half typed apart for each person, the newest of each, until it is let go', () => {
    const folder = oldStation(2)
    const first = openStationStore(folder, options)
    first.drafts.put('A. Person', 'order/new', '{"number":"1"}')
    first.drafts.put('A. Person', 'order/new', '{"number":"12"}')
    first.drafts.put('B. Person', 'order/new', '{"number":"7"}')
    first.close()
    const again = openStationStore(folder, options)
    onTestFinished(() => again.close())
    expect(again.drafts.get('A. Person', 'order/new')?.json).toBe('{"number":"12"}')
    again.drafts.drop('A. Person', 'order/new')
    expect(again.drafts.get('A. Person', 'order/new')).toBeUndefined()
    expect(again.drafts.get('B. Person', 'order/new')?.json).toBe('{"number":"7"}')
  })

  it('lets the oldest go where one person begins very much', () => {
    const folder = oldStation(2)
    let utcUs = 1
    const store = openStationStore(folder, {
      ...options,
      clock: { now: () => ({ utcUs: utcUs++, monoUs: 0 }) },
    })
    onTestFinished(() => store.close())
    for (let i = 0; i < 205; i++) store.drafts.put('A. Person', `k${i}`, '1')
    expect(store.drafts.get('A. Person', 'k4')).toBeUndefined()
    expect(store.drafts.get('A. Person', 'k5')?.json).toBe('1')
  })
})

describe('0010-session-sorts', () => {
  it('sorts the list of sessions by an index whatever it is sorted by, and reads no row to leave looks out', () => {
    const db = new Database(':memory:')
    migrate(db, stationMigrations)
    const planOf = (sql: string) =>
      (db.prepare(`EXPLAIN QUERY PLAN ${sql}`).all() as { detail: string }[])
        .map(({ detail }) => detail)
        .join('; ')
    const kept = 'n NOT IN (SELECT n FROM session WHERE is_look = 1)'
    for (const by of SESSION_SORTS) {
      const plan = planOf(`SELECT n FROM session WHERE ${kept} ORDER BY ${sessionOrder(by, 'DESC')} LIMIT 50`)
      expect(plan, by).toMatch(/USING (COVERING )?INDEX session_by_/)
      expect(plan, by).not.toMatch(/TEMP B-TREE/)
    }
    expect(planOf(`SELECT count(*) FROM session WHERE ${kept}`)).toMatch(/COVERING INDEX/)
    db.close()
  })

  it('knows a look by its row, and no look by a row that is damaged', () => {
    const db = new Database(':memory:')
    migrate(db, stationMigrations)
    const put = db.prepare(
      `INSERT INTO session (id, file, started_utc_us, name, operator, readings, points, bytes, row, sketch, form)
       VALUES (?, '', 1, '', '', 0, 0, 0, ?, x'', '')`,
    )
    const rows = {
      look: '{"info":{"kind":"look"}}',
      night: '{"info":{"kind":"comparison"}}',
      bare: '{}',
      damaged: '{"info":',
    }
    for (const [id, row] of Object.entries(rows)) put.run(id, row)
    expect(db.prepare('SELECT id FROM session WHERE is_look = 1').pluck().all()).toEqual(['look'])
    db.close()
  })
})

describe('0011-baths', () => {
  const bench = Bench.parse({
    ...{ id: 'b-1', name: 'By the window', instruments: [], channels: [] },
    bath: {
      ...{ name: 'Oil bath', lowC: 0, highC: 200, safeC: 25, uniformityMk: 2 },
      surveys: [
        {
          ...{ id: 's-1', date: '2026-02-01', who: 'B. Wend' },
          positions: [
            { name: 'middle', depthMm: 200 },
            { name: 'rim', depthMm: 200 },
          ],
          points: [{ celsius: 50, uMk: 1.8, degreesOfFreedom: 6 }],
        },
      ],
    },
  })

  /** A station of form 10 whose bench keeps the surveys of its bath itself. */
  function stationOfTen(): string {
    const folder = temporaryFolder()
    const db = createDatabase(join(folder, 'station.db'), 'station')
    migrate(db, stationMigrations, 10)
    const change = JSON.stringify(changeOf(undefined, bench, []))
    const of = { kind: 'bench', id: bench.id, utcUs: 5, who: 'A. Person', station: '', why: 'set up' }
    const { hash } = new Versions(db).append({ ...of, change })
    new Ledger(db).append(
      { who: of.who, what: 'bench saved', subject: bench.id, old: null, new: `sha256:${hash}`, why: of.why },
      5,
    )
    db.close()
    return folder
  }

  it('gives the bath of a bench an entry of its own, which takes its surveys over, once', () => {
    const folder = stationOfTen()
    openStationStore(folder, options).close()
    const store = openStationStore(folder, options)
    onTestFinished(() => store.close())
    expect(store.records.all('bath')).toMatchObject([
      { id: 'bath-b-1', name: 'Oil bath', surveys: bench.bath!.surveys },
    ])
    const { surveys: _moved, ...bath } = bench.bath!
    expect(store.benches()).toEqual([{ ...bench, bath: { ...bath, register: 'bath-b-1' } }])
    // A session on the bench takes the surveys with it.
    const register = store.registerOfBench(store.benches()[0]!)
    expect(surveyOf({ bench: store.benches()[0]!, register }, '2026-03-01')?.id).toBe('s-1')
    expect(store.records.verify()).toMatchObject({ whole: true, versions: 3 })
    expect(store.verifyLedger()).toMatchObject({ whole: true, entries: 3 })
    expect(store.ledger({ subject: 'bath-b-1' })).toMatchObject([{ who: 'Stillpoint', what: 'bath saved' }])
  })

  it('gives another bath on the same bench another entry', () => {
    const folder = stationOfTen()
    const store = openStationStore(folder, options)
    onTestFinished(() => store.close())
    const { surveys: _none, ...bath } = bench.bath!
    store.saveBenchAndBath({ ...bench, bath: { ...bath, name: 'Salt bath' } }, 'A. Person', 'another bath')
    expect(store.records.all('bath').map(({ id, name }) => [id, name])).toEqual([
      ['bath-b-1', 'Oil bath'],
      ['bath-b-1-2', 'Salt bath'],
    ])
    expect(store.benches()[0]!.bath!.register).toBe('bath-b-1-2')
  })
})
