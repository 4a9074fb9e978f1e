import { plainId } from '../../../app/base/plain-id.ts'
import { utcDay } from '../../../app/base/times.ts'
import type { SentOrder } from '../../../app/contract/api/orders.ts'
import { kindOf } from '../../../app/kinds/table.ts'
import { type Said, said } from '../../../app/messages/said.ts'
import { Customer } from '../../../app/records/customer.ts'
import { Item, Order } from '../../../app/records/order.ts'
import { Thermometer } from '../../../app/records/register.ts'
import { StationError } from '../../station/station-error.ts'
import type { Act } from '../../store/records/records.ts'
import type { StationStore } from '../../store/station-store.ts'
import type { OrderDesk } from '../orders/order-desk.ts'

const refused = (why: Said) => new StationError('refused', why)

/** An id made of a letter and words, with a number behind it where another record has it. */
function freeId(letter: string, words: string, taken: (id: string) => boolean): string {
  const base = `${letter}-${plainId(words)}`
  for (let n = 1; ; n++) {
    const id = n === 1 ? base : `${base}-${n}`
    if (!taken(id)) return id
  }
}

/**
 * Takes an order of another program in, all or nothing: the customer is found again by name, a thermometer by serial number and
 * owner (makers number from 1 each, so another owner's is another thermometer). Throws StationError 'refused' where the number
 * is taken or an item cannot be.
 */
export function takeOrder(
  { store, orders }: { store: StationStore; orders: OrderDesk },
  sent: SentOrder,
  act: Act,
  utcUs: number,
): Order {
  const { records } = store
  if (records.all('order').some(({ number }) => number === sent.number))
    throw refused(said('order-number-taken', { number: sent.number }))
  const { name, ...about } = sent.customer
  const known = records.all('customer').find((one) => one.name === name)
  const customer =
    known ?? Customer.parse({ id: freeId('c', name, (id) => records.known('customer', id)), name, ...about })
  const order = Order.parse({
    id: freeId('o', sent.number, (id) => records.known('order', id)),
    number: sent.number,
    customer: customer.id,
    received: sent.received ?? utcDay(utcUs),
    ...(sent.wantedBy && { wantedBy: sent.wantedBy }),
    remarks: sent.remarks,
  })
  const register = records.all('thermometer')
  const fresh: Thermometer[] = []
  const items = sent.items.map((item, i) => {
    const { lowC, highC, points, condition, occasion } = item
    if (highC < lowC) throw refused(said('item-range-reversed', { i: i + 1 }))
    const { serial, kind, ...rest } = item.thermometer
    const found = register.find((t) => t.serial === serial && (t.owner === '' || t.owner === name))
    if (found && found.kind !== kind)
      throw refused(said('item-of-another-kind', { i: i + 1, serial, name, kind: kindOf(found).name }))
    const thermometer =
      found ??
      Thermometer.parse({
        ...rest,
        ...{ serial, kind, owner: name, lowC, highC, fit: kindOf({ kind }).fit },
        id: freeId(
          't',
          serial,
          (id) => records.known('thermometer', id) || fresh.some((other) => other.id === id),
        ),
      })
    if (!found) fresh.push(thermometer)
    return Item.parse({
      id: `${order.id.replace(/^o-/, 'i-')}-${i + 1}`,
      ...{ order: order.id, customer: customer.id, thermometer: thermometer.id },
      ...{ condition, occasion, asked: { lowC, highC, points } },
    })
  })
  const doubled = sent.items.find(
    (a, i) => sent.items.findIndex((b) => b.thermometer.serial === a.thermometer.serial) !== i,
  )
  if (doubled) throw refused(said('item-twice', { serial: doubled.thermometer.serial }))
  orders.take({ order, items, thermometers: fresh, ...(known ? {} : { customer }) }, act)
  return order
}
