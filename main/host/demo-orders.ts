import type { Bench } from '../../app/records/bench.ts'
import type { CertificateWish } from '../../app/records/certificate.ts'
import { Item } from '../../app/records/order.ts'
import type { Plan } from '../../app/records/plan.ts'
import type { Services } from './services.ts'

/** Two invented customers whose thermometers share the demo's bath. */
const CUSTOMERS = [
  {
    id: 'harrow-fell',
    name: 'Harrow Fell Instruments',
    address: ['Mill Row 2', 'Harrow Fell'],
    contact: '',
    email: 'calibration@harrow-fell.example',
    language: 'en',
    decimalSign: '.',
  },
  {
    id: 'sendelbach',
    name: 'Molkerei Sendelbach',
    address: ['Am Wehr 7', 'Sendelbach'],
    contact: '',
    email: 'labor@sendelbach.example',
    language: 'de',
    decimalSign: ',',
  },
] as const

const REMARK = 'Invented items of an invented customer: a demonstration, not a calibration.'

/** What each customer asked for: a class where the thermometer has one, and a language or two. */
function wishOf(customer: (typeof CUSTOMERS)[number], kind: string): CertificateWish {
  const conformity =
    kind === 'prt'
      ? ({ class: 'B', rule: customer.id === 'sendelbach' ? 'simple' : 'guarded' } as const)
      : undefined
  return {
    languages: customer.language === 'de' ? ['de', 'en'] : ['en'],
    ...(conformity && { conformity }),
  }
}

/**
 * Takes the thermometers under test of the demo's bench in as items of two orders, asked for over the range of its night.
 * Returns the ids of the items.
 */
export function placeOrders(services: Services, bench: Bench, plan: Plan, who: string): string[] {
  const { orders, store } = services
  const act = { who, why: 'demo' }
  const under = bench.channels
    .filter(({ role }) => role === 'under-test')
    .map(({ thermometer }) => thermometer!)
  const celsius = plan.setpoints.map((setpoint) => setpoint.celsius)
  const half = Math.ceil(under.length / 2)
  return CUSTOMERS.flatMap((customer, c) => {
    orders.saveCustomer({ ...customer, address: [...customer.address] }, act)
    const own = c === 0 ? under.slice(0, half) : under.slice(half)
    const order = `order-${customer.id}`
    const items = own.map((id) => {
      const thermometer = store.records.one('thermometer', id)!
      if (thermometer.kind === 'prt')
        store.saveThermometer({ ...thermometer, construction: 'wire-wound' }, who, 'stated by the customer')
      return Item.parse({
        id: `item-${id}`,
        order,
        customer: customer.id,
        thermometer: id,
        condition: REMARK,
        asked: { lowC: Math.min(...celsius), highC: Math.max(...celsius) },
        wish: wishOf(customer, thermometer.kind),
      })
    })
    if (items.length === 0) return []
    const received = '2026-03-09'
    const number = `2026-031${c + 1}`
    orders.save({ id: order, number, customer: customer.id, received, remarks: [] }, items, [], act)
    return items.map(({ id }) => id)
  })
}
