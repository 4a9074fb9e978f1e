import { describe, expect, it } from 'vitest'
import type { OrderView } from '../../app/contract/calls-orders.ts'
import { Customer } from '../../app/records/customer.ts'
import { Item, Order } from '../../app/records/order.ts'
import { Thermometer } from '../../app/records/register.ts'
import {
  bySerial,
  customerDraft,
  draftOf,
  freshOrder,
  NEW_CUSTOMER,
  nextNumber,
  type OrderDraft,
  readOrder,
} from '../../renderer/orders/order.model.ts'
import { readAddress, writeAddress } from '../../renderer/page/address.ts'
import {
  readSheetPath,
  type SectionId,
  sheetLines,
  type Turn,
  unfoldedNext,
} from '../../renderer/sheet/sheet.model.ts'

const KNOWN = [
  Thermometer.parse({ id: 't-9', name: 'Air probe', kind: 'prt', serial: '77031', lowC: -40, highC: 200 }),
]
const filled = (
  part: Partial<OrderDraft> = {},
  item: Partial<OrderDraft['items'][number]> = {},
): OrderDraft => {
  const fresh = freshOrder('o-1', '2026-001', '2026-03-01')
  return {
    ...fresh,
    newCustomer: { ...NEW_CUSTOMER, name: 'Bramblewick Dairy', address: '1 Churn Yard\n', language: 'de' },
    items: [{ ...fresh.items[0]!, serial: '88', lowC: '0,01', highC: '80', ...item }],
    ...part,
  }
}

describe('nextNumber', () => {
  it('goes on in the year, whatever other numbers there are', () => {
    expect(nextNumber([], '2026')).toBe('2026-001')
    expect(nextNumber(['2025-040', '2026-017', 'X-2026-099', '2026-003'], '2026')).toBe('2026-018')
    expect(nextNumber(['2026-0311', '2026-0312'], '2026')).toBe('2026-0313')
    expect(nextNumber(['2026-999'], '2026')).toBe('2026-1000')
  })
})

describe('readOrder', () => {
  it('makes order, item, customer and a thermometer that nobody knew', () => {
    const { read, problems } = readOrder(filled(), KNOWN, [])
    expect(problems).toEqual({})
    expect(read?.customer).toEqual({
      id: 'c-bramblewick-dairy',
      name: 'Bramblewick Dairy',
      address: ['1 Churn Yard'],
      contact: '',
      email: '',
      language: 'de',
    })
    expect(read?.items[0]).toMatchObject({
      thermometer: 't-88',
      asked: { lowC: 0.01, highC: 80, points: [] },
    })
    expect(read?.thermometers[0]).toMatchObject({
      serial: '88',
      kind: 'prt',
      nominalOhm: 100,
      lowC: -4.99,
      highC: 85,
    })
  })

  it('finds a thermometer that returns by its serial number', () => {
    const { read } = readOrder(filled({}, { serial: ' 77031 ', points: '0 25,5; 50' }), KNOWN, [])
    expect(read?.thermometers).toEqual([])
    expect(read?.items[0]).toMatchObject({ thermometer: 't-9', asked: { points: [0, 25.5, 50] } })
  })

  it('says what is missing where it is', () => {
    const bad = filled({ number: ' ', newCustomer: null }, { lowC: 'warm', highC: '' })
    expect(Object.keys(readOrder(bad, KNOWN, []).problems)).toEqual([
      'number',
      'customer',
      'o-1-1/lowC',
      'o-1-1/highC',
    ])
    expect(readOrder(filled({}, { lowC: '50', highC: '20' }), KNOWN, []).problems['o-1-1/highC']).toBe(
      'Not below the lower end.',
    )
  })

  it('does not take one thermometer twice', () => {
    const one = filled()
    const twice = { ...one, items: [...one.items, { ...one.items[0]!, id: 'o-1-2' }] }
    expect(readOrder(twice, KNOWN, []).problems).toEqual({
      'o-1-2/serial': 'This thermometer is in the order already.',
    })
  })

  it('leaves the language of a certificate to its customer, unless there are two, and keeps a table that is asked for', () => {
    const wish = (item: Partial<OrderDraft['items'][number]>) =>
      readOrder(filled({}, item), KNOWN, []).read?.items[0]?.wish
    expect(wish({ tolerance: 'B' })).toEqual({ conformity: { class: 'B', rule: 'guarded' } })
    expect(wish({ second: 'en', tableStep: '5' })).toEqual({ languages: ['de', 'en'], tableStepK: 5 })
    expect(wish({ budget: true })).toEqual({ budget: true })
    expect(readOrder(filled({}, { tableStep: '-5' }), KNOWN, []).problems['o-1-1/tableStep']).toMatch(
      /above zero/,
    )
  })

  it('changes a customer that is known, and asks for an address that mail can go to', () => {
    const dairy = Customer.parse({ id: 'c-1', name: 'Dairy', address: [], note: 'pays late' })
    const changed = filled({
      customer: 'c-1',
      newCustomer: { ...customerDraft(dairy), email: 'lab@dairy.example', decimalSign: ',' },
    })
    expect(readOrder(changed, KNOWN, [dairy]).read?.customer).toEqual({
      ...dairy,
      email: 'lab@dairy.example',
      decimalSign: ',',
    })
    const wrong = { ...changed, newCustomer: { ...changed.newCustomer!, email: 'the lab' } }
    expect(readOrder(wrong, KNOWN, [dairy]).problems.email).toMatch(/e-mail address such as/)
  })

  it('gives an order back as it was', () => {
    const { read } = readOrder(filled({ customer: 'c-1', newCustomer: null }), KNOWN, [])
    const view: OrderView = {
      order: read!.order,
      customer: null,
      items: [{ item: read!.items[0]!, thermometer: read!.thermometers[0]!, steps: [] }],
    }
    const again = readOrder(draftOf(view), [...KNOWN, ...read!.thermometers], [])
    expect(again.read?.order).toEqual(read!.order)
    expect(again.read?.items).toEqual(read!.items)
  })
})

describe('bySerial', () => {
  const another = Thermometer.parse({
    ...{ id: 't-88', name: 'Probe', kind: 'prt', serial: '88', owner: 'Harrow Fell', lowC: 0, highC: 90 },
  })

  it('finds the thermometer of this customer alone, and the laboratory\u2019s own', () => {
    expect(bySerial([another], '88', 'Harrow Fell')?.id).toBe('t-88')
    expect(bySerial([another], '88', 'Bramblewick Dairy')).toBeUndefined()
    expect(bySerial(KNOWN, ' 77031 ', 'Bramblewick Dairy')?.id).toBe('t-9')
  })

  it('leaves another customer\u2019s thermometer of the same number as it is', () => {
    const { read } = readOrder(filled(), [another])
    expect(read?.items[0]?.thermometer).toBe('t-88-bramblewick-dairy')
    expect(read?.thermometers[0]).toMatchObject({ id: 't-88-bramblewick-dairy', owner: 'Bramblewick Dairy' })
  })

  it('writes the owner of a new thermometer also where the customer is known', () => {
    const customers = [Customer.parse({ id: 'c-1', name: 'Harrow Fell' })]
    const { read } = readOrder(filled({ newCustomer: null, customer: 'c-1' }), [], customers)
    expect(read?.thermometers[0]?.owner).toBe('Harrow Fell')
    const twice = readOrder(filled({ newCustomer: { ...NEW_CUSTOMER, name: 'Harrow Fell' } }), [], customers)
    expect(twice.problems.customer).toMatch(/known already/)
  })
})

describe('readSheetPath', () => {
  it('has an address for all orders, an order, each part of its sheet and every item', () => {
    const through = (...path: string[]) =>
      readSheetPath(readAddress(writeAddress({ place: 'orders', path }))!.path)
    expect(through()).toBeUndefined()
    expect(through('o-1')).toEqual({ order: 'o-1', section: undefined, item: undefined })
    expect(through('o-1', 'night')).toEqual({ order: 'o-1', section: 'night', item: undefined })
    expect(through('o-1', 'items', 'o-1/2')).toEqual({ order: 'o-1', section: 'items', item: 'o-1/2' })
    expect(through('o-1', 'no such part')?.section).toBeUndefined()
  })
})

describe('unfoldedNext', () => {
  const line = (id: SectionId, turn: Turn) => ({ id, turn, title: '', words: '' })

  it('is the first part whose turn it is, and stays with one until that is done', () => {
    const lines = [
      line('items', 'done'),
      line('bench', 'done'),
      line('plan', 'yours'),
      line('night', 'later'),
    ]
    expect(unfoldedNext(lines, undefined)).toBe('plan')
    // A link that is lost for a moment puts the bench before it.
    const lost = lines.with(1, line('bench', 'yours'))
    expect(unfoldedNext(lost, 'plan')).toBe('plan')
    expect(unfoldedNext(lost, undefined)).toBe('bench')
    expect(unfoldedNext(lines.with(2, line('plan', 'done')).with(3, line('night', 'station')), 'plan')).toBe(
      'night',
    )
    expect(unfoldedNext([line('items', 'done')], 'plan')).toBe('items')
  })
})

describe('sheetLines', () => {
  const matter = { bench: null, thermometers: [], resistors: [], state: undefined, today: '2026-03-01' }
  const order = (...states: Item['state'][]): OrderView => ({
    order: Order.parse({ id: 'o', number: '1', customer: 'c', received: '2026-03-01' }),
    customer: null,
    items: states.map((state, i) => ({
      item: Item.parse({
        id: `i-${i}`,
        order: 'o',
        customer: 'c',
        thermometer: `t-${i}`,
        state,
        asked: { lowC: 0, highC: 50 },
        ...(state !== 'received' && { session: 's-1' }),
      }),
      thermometer: null,
      steps: [],
    })),
  })
  const turns = (view: OrderView | undefined) =>
    Object.fromEntries(sheetLines({ ...matter, order: view }).map(({ id, turn }) => [id, turn]))

  it('says whose turn it is, from an order not saved yet to its delivery', () => {
    expect(turns(undefined)).toMatchObject({ items: 'yours', plan: 'later', certificate: 'later' })
    expect(turns(order('received', 'on-bench'))).toMatchObject({
      items: 'done',
      plan: 'yours',
      points: 'later',
    })
    expect(turns(order('measured', 'measured'))).toMatchObject({
      plan: 'done',
      night: 'done',
      points: 'yours',
    })
    expect(turns(order('signed', 'signed'))).toMatchObject({ points: 'done', certificate: 'yours' })
    expect(turns(order('delivered'))).toMatchObject({ certificate: 'done' })
  })

  it('counts the items by where they are', () => {
    const [line] = sheetLines({ ...matter, order: order('received', 'received', 'measured') })
    expect(line!.words).toBe('No customer, 3 items: 2 received, 1 measured.')
  })
})
