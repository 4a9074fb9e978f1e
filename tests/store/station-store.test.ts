import { spawn } from 'node:child_process'
import { once } from 'node:events'
import { readdirSync, rmSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import Database from 'better-sqlite3'
import { describe, expect, it, onTestFinished } from 'vitest'
import type { Plan } from '../../app/records/plan.ts'
import { Thermometer } from '../../app/records/register.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { exampleClock, exampleInfo, exampleSetup, scan, temporaryFolder } from './example.ts'

const open = (folder: string, mode: 'write' | 'read' = 'write') =>
  openStationStore(folder, { clock: exampleClock(), mode })

const thermometer = Thermometer.parse({
  id: 't1',
  name: 'Reference',
  kind: 'sprt',
  serial: 'Q-17',
  lowC: -80,
  highC: 420,
})
const plan: Plan = {
  id: 'p1',
  name: 'Three points',
  setpoints: [{ celsius: 25, selfHeating: false }],
  settling: {
    windowS: 300,
    driftMkPerMin: 0.2,
    spreadMk: 1,
    bandK: 0.1,
    holdS: 600,
    confidence: 0.95,
    channels: [],
    adaptive: 1,
  },
  order: 'symmetric',
  cycles: 3,
  maxWaitS: 3600,
  onTimeout: 'take-marked',
  wtpCheck: false,
  atEnd: 'safe',
}

function addSession(folder: string, id: string, name = 'Night') {
  const store = open(folder)
  const file = createSessionFile(store.sessionPath(id), {
    info: { ...exampleInfo, id, name },
    setup: {
      ...exampleSetup,
      plan,
      register: { ...exampleSetup.register, thermometers: [thermometer] },
    },
    clock: exampleClock(),
  })
  file.commit({ readings: scan(0, 2) })
  store.registerSession(file)
  file.close()
  store.close()
}

describe('openStationStore', () => {
  it('refuses a second station on the same folder in words, and lets the next one in after the first has ended', () => {
    const folder = temporaryFolder()
    const first = open(folder)
    expect(() => open(folder)).toThrow(/in use by another station \(process \d+ on .+\)\. Close that one/)
    const reader = open(folder, 'read')
    expect(reader.sessions()).toEqual([])
    reader.close()
    first.close()
    open(folder).close()
  })

  it('takes away what a crash left half made, and nothing else', () => {
    const folder = temporaryFolder()
    open(folder).close()
    const sessions = join(folder, 'sessions')
    for (const name of ['a.stillpoint.123.part', 'a.stillpoint.123.part-wal', 'a.stillpoint', 'my.part'])
      writeFileSync(join(sessions, name), '')
    open(folder).close()
    expect(readdirSync(sessions).sort()).toEqual(['a.stillpoint', 'my.part'])
  })

  it('is not held up by a station that was killed', async () => {
    const folder = temporaryFolder()
    const child = spawn(
      process.execPath,
      [
        '--input-type=module',
        '-e',
        `import { openStationStore } from ${JSON.stringify(join(process.cwd(), 'main/store/station-store.ts'))}
         globalThis.store = openStationStore(${JSON.stringify(folder)}, { clock: { now: () => ({ utcUs: 0, monoUs: 0 }) } })
         console.log('open')
         setInterval(() => {}, 1000)`,
      ],
      { stdio: ['ignore', 'pipe', 'ignore'] },
    )
    onTestFinished(() => void child.kill('SIGKILL'))
    await once(child.stdout, 'data')
    expect(() => open(folder)).toThrow(new RegExp(`process ${child.pid} `))
    child.kill('SIGKILL')
    await once(child, 'exit')
    open(folder).close()
  })
})

describe('StationStore', () => {
  it('keeps every version of an entry and writes who changed what and why into the ledger', () => {
    const store = open(temporaryFolder())
    store.saveThermometer(thermometer, 'A. Person', 'new')
    store.saveThermometer({ ...thermometer, note: 'bent' }, 'B. Person', 'dropped')
    expect(store.register().thermometers).toEqual([{ ...thermometer, note: 'bent' }])
    expect(store.records.versions('thermometer', 't1').map(({ value }) => value?.note)).toEqual([
      undefined,
      'bent',
    ])
    const [second, first] = store.ledger({ subject: 't1' })
    expect(first).toMatchObject({ who: 'A. Person', what: 'thermometer saved', old: null, why: 'new' })
    expect(second).toMatchObject({ who: 'B. Person', why: 'dropped', old: first!.new })
    expect(store.verifyLedger()).toMatchObject({ whole: true, entries: 2, firstBreak: null })
    store.close()
  })

  it('removes a plan from the list and keeps its versions', () => {
    const store = open(temporaryFolder())
    expect(() => store.removePlan('p1', 'A. Person', 'x')).toThrow(/no plan "p1"/)
    store.savePlan(plan, 'A. Person', 'for tonight')
    expect(store.plans()).toEqual([plan])
    store.removePlan('p1', 'A. Person', 'never used')
    expect(store.plans()).toEqual([])
    expect(store.records.versions('plan', 'p1')).toHaveLength(2)
    store.close()
  })

  it('refuses entries that do not have their form, and stores nothing of them', () => {
    const store = open(temporaryFolder())
    expect(() => store.saveThermometer({ ...thermometer, lowC: 'cold' as never }, 'A. Person', 'x')).toThrow()
    expect(store.register().thermometers).toEqual([])
    expect(store.ledger()).toEqual([])
    store.close()
  })

  it('names the first entry of the ledger that was changed or removed behind its back', () => {
    const folder = temporaryFolder()
    const store = open(folder)
    for (const note of ['one', 'two', 'three'])
      store.saveThermometer({ ...thermometer, note }, 'A. Person', note)
    store.close()
    const other = new Database(join(folder, 'station.db'))
    expect(() => other.exec("UPDATE ledger SET why = 'because'")).toThrow(/append-only/)
    other.exec("DROP TRIGGER ledger_no_update; UPDATE ledger SET why = 'because' WHERE n = 2")
    other.close()
    const changed = open(folder)
    expect(changed.verifyLedger()).toMatchObject({ whole: false, entries: 1 })
    expect(changed.verifyLedger().firstBreak).toMatch(/Entry 2 of the ledger/)
    changed.close()
  })

  it('lists sessions by what a person remembers of them', () => {
    const folder = temporaryFolder()
    addSession(folder, 'a-1', 'Night of the bath')
    addSession(folder, 'a-2', 'Morning')
    const store = open(folder)
    const found = (search: string) => store.sessions(search).map(({ info }) => info.id)
    expect(found('').sort()).toEqual(['a-1', 'a-2'])
    expect(found('bath NIGHT')).toEqual(['a-1'])
    expect(found('q-17 morning')).toEqual(['a-2'])
    expect(found('2026-03-01')).toHaveLength(2)
    expect(found('nobody')).toEqual([])
    expect(store.sessions('morning')[0]).toMatchObject({
      readings: 2,
      channels: ['ch1', 'ch2'],
      damaged: null,
    })
    expect(store.anchors('a-1')).toHaveLength(1)
    store.close()
  })

  it('refuses session names that lead out of its folder', () => {
    const store = open(temporaryFolder())
    for (const id of ['../x', 'a/b', '..', '', 'a\\b', '.hidden', 'a..b'])
      expect(() => store.sessionPath(id), id).toThrow(/cannot be a session/)
    store.close()
  })

  it('is built again from the session files when station.db is lost', () => {
    const folder = temporaryFolder()
    addSession(folder, 'a-1')
    addSession(folder, 'a-2')
    for (const name of ['station.db', 'station.db-wal', 'station.db-shm'])
      rmSync(join(folder, name), { force: true })
    writeFileSync(
      join(folder, 'sessions', 'broken.stillpoint'),
      'not a database at all, but long enough to be read',
    )
    const store = openStationStore(folder, { clock: exampleClock(), makeAnew: true })
    expect(store.sessions()).toEqual([])
    const words = store.rebuild('A. Person')
    expect(words.join(' ')).toMatch(/2 sessions listed/)
    expect(words.join(' ')).toMatch(/broken\.stillpoint/)
    expect(store.sessions()).toHaveLength(2)
    expect(store.register().thermometers).toEqual([thermometer])
    expect(store.plans()).toEqual([plan])
    expect(store.benches()).toEqual([exampleSetup.bench])
    expect(store.verifyLedger().whole).toBe(true)
    store.close()
  })

  it('takes nothing from a session whose record was written over, and says so', () => {
    const folder = temporaryFolder()
    addSession(folder, 'a-1')
    addSession(folder, 'a-2')
    for (const name of ['station.db', 'station.db-wal', 'station.db-shm'])
      rmSync(join(folder, name), { force: true })
    const forge = (id: string) => {
      const db = new Database(join(folder, 'sessions', `${id}.stillpoint`))
      db.exec("DROP TRIGGER log_no_update; UPDATE log SET raw = '9.9' WHERE seq = 1")
      db.close()
    }
    forge('a-2')
    const store = openStationStore(folder, { clock: exampleClock(), makeAnew: true })
    const words = store.rebuild('A. Person').join(' ')
    expect(words).toMatch(/Nothing was taken from session a-2, whose record is not whole/)
    expect(words).toMatch(/thermometer .* taken from session a-1/)
    expect(store.sessions()).toHaveLength(2)
    store.close()
    forge('a-1')
    for (const name of ['station.db', 'station.db-wal', 'station.db-shm'])
      rmSync(join(folder, name), { force: true })
    const none = openStationStore(folder, { clock: exampleClock(), makeAnew: true })
    none.rebuild('A. Person')
    expect(none.register().thermometers).toEqual([])
    expect(none.benches()).toEqual([])
    expect(none.sessions()).toHaveLength(2)
    none.close()
  })
})
