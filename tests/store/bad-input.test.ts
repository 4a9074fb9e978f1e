import { join } from 'node:path'
import { expect, it, onTestFinished } from 'vitest'
import { Thermometer } from '../../app/records/register.ts'
import { readRegister, registerText, saveRead } from '../../main/store/register-file.ts'
import { createSessionFile } from '../../main/store/session-file.ts'
import { openDatabase } from '../../main/store/sqlite.ts'
import { openStationStore, type StationStore } from '../../main/store/station-store.ts'
import { exampleClock, exampleInfo, exampleSetup, scan, temporaryFolder } from './example.ts'

// What goes wrong in the course of ten years: words, and nothing lost.

const act = { who: 'A. Person', why: 'test' }

function open(folder = temporaryFolder(), utcUs = () => exampleInfo.startedUtcUs): StationStore {
  const store = openStationStore(folder, { clock: { now: () => ({ utcUs: utcUs(), monoUs: 0 }) } })
  onTestFinished(() => store.close())
  return store
}

const thermometer = (id: string, name: string) =>
  Thermometer.parse({ id, name, kind: 'prt', lowC: 0, highC: 100 })

function addSession(store: StationStore, id: string): void {
  const file = createSessionFile(store.sessionPath(id), {
    ...{ info: { ...exampleInfo, id, name: `Night ${id}` }, setup: exampleSetup, clock: exampleClock() },
  })
  file.commit({ readings: scan(0, 2) })
  file.finish('complete', 'done')
  store.registerSession(file)
  file.close()
}

it('lists a session whose row is damaged, says what can be done, and has it whole again after that', () => {
  const store = open()
  addSession(store, 'a-1')
  addSession(store, 'a-2')
  store.database.exec("UPDATE session SET row = substr(row, 1, 40) WHERE id = 'a-1'")
  const { total, rows } = store.sessionPage('', 10)
  expect(total).toBe(2)
  expect(rows.find(({ info }) => info.id === 'a-1')?.damaged).toMatch(
    /row in the list is damaged.*sessions --rebuild/,
  )
  store.rebuild('A. Person')
  expect(store.sessions().map(({ damaged }) => damaged)).toEqual([null, null])
})

it('takes a register in that holds a record twice: the later one stands, the earlier is a version', async () => {
  const store = open()
  const [first, second] = [thermometer('t-1', 'First'), thermometer('t-1', 'Second')]
  const text = JSON.stringify({
    thermometers: [first, second],
    ...{ resistors: [], instruments: [], fluids: [] },
  })
  await saveRead(store, readRegister(text), act)
  expect(store.records.list({ kinds: ['thermometer'] })).toMatchObject({
    total: 1,
    rows: [{ name: 'Second' }],
  })
  expect(store.records.versions('thermometer', 't-1').map(({ value }) => value?.name)).toEqual([
    'First',
    'Second',
  ])
  // The same file once more changes nothing that stands, and every act is in the ledger.
  await saveRead(store, readRegister(text), act)
  expect(store.records.one('thermometer', 't-1')?.name).toBe('Second')
  expect(store.records.verify().whole).toBe(true)
  expect(store.verifyLedger()).toMatchObject({ whole: true, entries: 4 })
})

it('writes a register that can be taken in elsewhere, the retired too, and refuses what is none', async () => {
  const folder = temporaryFolder()
  const store = open(folder)
  for (let n = 0; n < 40; n += 1) store.saveThermometer(thermometer(`t-${n}`, `Number ${n}`), 'A. Person', '')
  store.records.retire('thermometer', 't-7', act)
  const db = openDatabase(join(folder, 'station.db'), 'station', 'read')
  const json = registerText(db, 'json', '2026-03-01')
  expect(registerText(db, 'csv', '2026-03-01').trim().split('\n')).toHaveLength(41)
  db.close()
  const other = open()
  await saveRead(other, readRegister(json), act)
  expect(other.register()).toEqual(store.register())
  for (const [text, words] of [
    ['{', /not JSON/],
    ['[]', /does not hold a register: at its top/],
    ['{"thermometers": 7}', /at thermometers/],
  ] as const)
    expect(() => readRegister(text)).toThrow(words)
})

it('goes on in order where the clock is set back over the end of a year', () => {
  let day = '2027-01-02'
  const store = open(temporaryFolder(), () => Date.parse(`${day}T08:00:00Z`) * 1000)
  store.saveThermometer(thermometer('t-1', 'First'), 'A. Person', '')
  const given = [store.giveCertificateNumbers('s-1', ['a'], 'A. Person').a]
  day = '2026-12-31'
  store.saveThermometer(thermometer('t-1', 'Second'), 'A. Person', '')
  given.push(store.giveCertificateNumbers('s-2', ['a'], 'A. Person').a)
  day = '2027-01-03'
  given.push(store.giveCertificateNumbers('s-3', ['a'], 'A. Person').a)
  // No number twice, whatever the clock says.
  expect(new Set(given).size).toBe(3)
  expect(store.giveCertificateNumbers('s-1', ['a'], 'A. Person').a).toBe(given[0])
  expect(store.records.one('thermometer', 't-1')?.name).toBe('Second')
  expect(store.records.versions('thermometer', 't-1').map(({ rev }) => rev)).toEqual([1, 2])
  const entries = store.ledger({}).map(({ n }) => n)
  expect(entries).toEqual(entries.toSorted((a, b) => b - a))
  expect(store.verifyLedger().whole).toBe(true)
  expect(store.records.verify().whole).toBe(true)
})
