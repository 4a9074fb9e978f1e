import { expect, it, onTestFinished } from 'vitest'
import { ordersText } from '../../main/store/orders-file.ts'
import { readOrders } from '../../main/store/orders-import.ts'
import { saveRead } from '../../main/store/register-file.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { temporaryFolder } from './example.ts'

const NOW_US = Date.UTC(2026, 2, 1, 12) * 1000
const HEAD =
  'order,customer,received,wanted by,thermometer,serial number,from / degC,to / degC,points / degC,condition'

function station() {
  const store = openStationStore(temporaryFolder(), { clock: { now: () => ({ utcUs: NOW_US, monoUs: 0 }) } })
  onTestFinished(() => store.close())
  const read = (text: string) => readOrders(store.database, text, NOW_US)
  const take = async (text: string) => {
    const entries = read(text)
    await saveRead(store, entries, { who: 'test', why: '' })
    return entries.map(({ kind, id }) => `${kind} ${id}`)
  }
  return { store, read, take }
}

it('makes what the register does not have, once each, and finds it again the next time', async () => {
  const { store, take } = station()
  const rows = [
    'Q-1,Brook Dairy,2026-02-20,2026-03-20,Probe,S-7,0,100,0 50 100,scratched',
    'Q-1,brook dairy,,,,S-8,100,-10,,',
  ]
  expect(await take([HEAD, ...rows].join('\n'))).toEqual([
    ...['customer c-brook-dairy', 'order o-q-1', 'thermometer t-s-7', 'item i-q-1-s-7'],
    ...['thermometer t-s-8', 'item i-q-1-s-8'],
  ])
  expect(store.records.one('order', 'o-q-1')).toMatchObject({
    ...{ number: 'Q-1', customer: 'c-brook-dairy', received: '2026-02-20', wantedBy: '2026-03-20' },
  })
  expect(store.records.one('thermometer', 't-s-7')).toMatchObject({
    ...{ name: 'Probe', kind: 'prt', serial: 'S-7', owner: 'Brook Dairy', lowC: 0, highC: 100 },
  })
  // A range that is written from the hot end, a name that is missing.
  expect(store.records.one('thermometer', 't-s-8')).toMatchObject({ name: 'S-8', lowC: -10, highC: 100 })
  expect(store.records.one('item', 'i-q-1-s-7')).toMatchObject({
    ...{ order: 'o-q-1', thermometer: 't-s-7', condition: 'scratched', state: 'received' },
    asked: { lowC: 0, highC: 100, points: [0, 50, 100] },
  })
  expect(await take([HEAD, ...rows].join('\n'))).toEqual([])
  // The same thermometer comes back with another order, of which the table does not say the day.
  expect(await take(`${HEAD}\nQ-2,Brook Dairy,,,,S-7,0,50,,`)).toEqual(['order o-q-2', 'item i-q-2-s-7'])
  expect(store.records.one('order', 'o-q-2')).toMatchObject({ received: '2026-03-01' })
  // Somebody else's with the same number is another.
  expect(await take(`${HEAD}\nQ-3,Mill,,,,S-7,0,50,,`)).toEqual([
    ...['customer c-mill', 'order o-q-3', 'thermometer t-s-7-mill', 'item i-q-3-s-7'],
  ])
})

it('reads semicolons with decimal commas, blanks and empty lines, as spreadsheets write them', async () => {
  const { store, take } = station()
  const text = [HEAD.replaceAll(',', ';'), '', ' Q-1 ;Mill;;;;S-1; -0,5 ;100,25;0,5 99,75;', ''].join('\r\n')
  await take(`\ufeff${text}`)
  expect(store.records.one('item', 'i-q-1-s-1')!.asked).toMatchObject({
    ...{ lowC: -0.5, highC: 100.25, points: [0.5, 99.75] },
  })
})

it('names line and column of what makes no sense, and makes nothing of such a table', () => {
  const { read } = station()
  const good = 'Q-1,Mill,,,,S-1,0,100,,'
  expect(() => read([HEAD, good, 'Q-2,Mill,,,,,0,100,,'].join('\n'))).toThrow(/3.*serial number/)
  expect(() => read([HEAD, ',Mill,,,,S-1,0,100,,'].join('\n'))).toThrow(/2.*order/)
  expect(() => read([HEAD, 'Q-1,Mill,,,,S-1,cold,100,,'].join('\n'))).toThrow(/2.*from/)
  expect(() => read([HEAD, 'Q-1,Mill,,,,S-1,0,100,0 warm,'].join('\n'))).toThrow(/2.*point warm/)
  expect(() => read([HEAD, `${good},,,,too many`].join('\n'))).toThrow(
    expect.objectContaining({ code: 'refused' }) as unknown as Error,
  )
})

it('writes every item with what it names, as it can be read in again', async () => {
  const { store, take } = station()
  const row = 'Q-1,Mill,2026-02-20,2026-03-20,Probe,S-7,0,100,0 50 100,as new'
  await take(`${HEAD}\n${row}`)
  const text = ordersText(store.database)
  expect(text).toBe(`${HEAD},state\n${row},received\n`)
  expect(readOrders(store.database, text, NOW_US)).toEqual([])
})
