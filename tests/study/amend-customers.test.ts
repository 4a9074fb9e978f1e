import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, it } from 'vitest'
import { eventOf } from '../../app/messages/said.ts'
import { Customer } from '../../app/records/customer.ts'
import { Item, SessionItem } from '../../app/records/order.ts'
import { decisionsOf } from '../../app/results/analysis-input.ts'
import { openStationStore } from '../../main/store/station-store.ts'
import { takeRecordsOfNow } from '../../main/study/amend-session.ts'
import { fixtureSession } from '../report/session-fixture.ts'
import { exampleClock } from '../store/example-data.ts'

it('takes the address that a customer has now into an ended session, as an amendment with its reason', () => {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-customers-'))
  const store = openStationStore(folder, { clock: exampleClock() })
  const asked = { lowC: 0, highC: 100 }
  const { session } = fixtureSession(
    join(folder, 'night.stillpoint'),
    { seed: 6, setpoints: [0, 50], cell: 'none' },
    (setup) => ({
      ...setup,
      job: null,
      items: [
        SessionItem.parse({
          ...{ item: 'i-1', thermometer: 'prt-x1', order: '2026-17', received: '2026-02-24', asked },
          ...{ customer: { name: 'Harbour Works', address: [] }, occasion: 'as-found', wish: {} },
        }),
      ],
    }),
  )
  try {
    const { register } = session.setup
    for (const entry of register.thermometers) store.saveThermometer(entry, 'test', '')
    const act = { who: 'C. Hale', why: 'the address came by telephone' }
    const save = (customer: Customer) => store.records.save('customer', customer.id, customer, act)
    save(Customer.parse({ id: 'harbour', name: 'Harbour Works', address: [] }))
    const item = Item.parse({ id: 'i-1', order: 'o-1', customer: 'harbour', thermometer: 'prt-x1', asked })
    store.records.save('item', item.id, item, act)
    const take = () =>
      takeRecordsOfNow(store, session, act, (event) =>
        session.commit({ events: [{ ...eventOf(event), utcUs: session.info.endedUtcUs!, monoUs: 2 ** 42 }] }),
      )
    expect(take).toThrow('No record of this session has changed since')
    session.signOff({ who: 'C. Hale' })
    save(Customer.parse({ id: 'harbour', name: 'Harbour Works', address: ['Quay 4', 'Tern Harbour'] }))
    expect(take()).toContain('The records of Harbour Works are those of now. The report is a new version')
    const decided = decisionsOf(session.setup, session.events())
    expect(decided.setup.items).toEqual([
      {
        ...session.setup.items![0],
        customer: { name: 'Harbour Works', address: ['Quay 4', 'Tern Harbour'] },
      },
    ])
    // The records of the day stay, and the version that was signed is named with why there is another.
    expect(session.setup.items![0]!.customer.address).toEqual([])
    expect(decided.versions.at(-1)).toMatchObject({
      version: 2,
      changes: [{ what: 'Harbour Works', why: act.why }],
      signOff: null,
    })
    expect(take).toThrow('No record of this session has changed since')
  } finally {
    session.close()
    store.close()
    rmSync(folder, { recursive: true, force: true })
  }
})
