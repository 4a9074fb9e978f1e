import { parse } from 'csv-parse/sync'
import { plainId } from '../../app/base/plain-id.ts'
import { utcDay } from '../../app/base/times.ts'
import { said } from '../../app/messages/said.ts'
import { Customer } from '../../app/records/customer.ts'
import { Item, Order } from '../../app/records/order.ts'
import type { ORDER_COLUMNS } from '../../app/records/order-table.ts'
import { Thermometer } from '../../app/records/register.ts'
import { isSameThermometer } from '../../app/records/same-thermometer.ts'
import { StoreError } from './errors.ts'
import { type ReadEntry, readRecords } from './register-file.ts'
import type { Db } from './sqlite.ts'

/** A table's number, comma or point; a row that has none says which. */
function numberIn(text: string, what: string, line: number): number {
  const value = Number(text.trim().replace(',', '.'))
  if (text.trim() === '' || !Number.isFinite(value))
    throw new StoreError('refused', said('line-not-a-number', { line, what }), {
      line,
    })
  return value
}

type Row = Partial<Record<(typeof ORDER_COLUMNS)[number], string>>

/**
 * Reads a table of items: customers by name, thermometers by serial number and owner, and orders by number are found again, and
 * made where the register has none. Returns what is to be saved, each after what it names. Throws StoreError 'refused' where a line
 * makes no sense.
 */
export function readOrders(db: Db, text: string, utcUs: number): ReadEntry[] {
  const records = readRecords(db)
  const separator = /^[^\n]*;/.test(text) ? ';' : ','
  let rows: Row[]
  try {
    rows = parse(text, { columns: true, delimiter: separator, bom: true, trim: true, skip_empty_lines: true })
  } catch (fault) {
    throw new StoreError('refused', said('order-not-a-table', { message: (fault as Error).message }), {})
  }
  const customers = new Map(records.all('customer').map((c) => [c.name.toLowerCase(), c]))
  const orders = new Map(records.all('order').map((o) => [o.number, o]))
  const bySerial = new Map<string, { id: string }>()
  /** Of a register of thousands only the lines that have such a number are looked at. */
  const known = (serial: string, owner: string) =>
    records
      .some(
        'thermometer',
        records
          .list({ kinds: ['thermometer'], states: ['kept', 'retired'], search: serial, most: 500 })
          .rows.filter((line) => line.serial === serial)
          .map(({ id }) => id),
      )
      .find((thermometer) => isSameThermometer(thermometer, serial, owner))
  const made: { kind: 'customer' | 'order' | 'thermometer' | 'item'; value: { id: string } }[] = []
  for (const [i, row] of rows.entries()) {
    const line = i + 2
    const need = (what: (typeof ORDER_COLUMNS)[number]) => {
      const value = row[what]
      if (!value)
        throw new StoreError('refused', said('line-column-empty', { line, what }), {
          line,
        })
      return value
    }
    const customer = found(customers, need('customer').toLowerCase(), () => {
      const value = Customer.parse({ id: `c-${plainId(need('customer'))}`, name: need('customer') })
      made.push({ kind: 'customer', value })
      return value
    })
    const order = found(orders, need('order'), () => {
      const value = Order.parse({
        id: `o-${plainId(need('order'))}`,
        number: need('order'),
        customer: customer.id,
        received: row.received || utcDay(utcUs),
        ...(row['wanted by'] && { wantedBy: row['wanted by'] }),
      })
      made.push({ kind: 'order', value })
      return value
    })
    const lowC = numberIn(need('from / degC'), 'from', line)
    const highC = numberIn(need('to / degC'), 'to', line)
    const serial = need('serial number')
    const thermometer = found(bySerial, `${serial}\n${customer.id}`, () => {
      const back = known(serial, customer.name)
      if (back) return back
      const id = `t-${plainId(serial)}`
      const isFree = !records.one('thermometer', id) && !made.some(({ value }) => value.id === id)
      const value = Thermometer.parse({
        id: isFree ? id : `${id}-${plainId(customer.name)}`,
        name: row.thermometer || serial,
        kind: 'prt',
        serial,
        owner: customer.name,
        nominalOhm: 100,
        fit: 'callendar-van-dusen',
        lowC: Math.min(lowC, highC),
        highC: Math.max(lowC, highC),
      })
      made.push({ kind: 'thermometer', value })
      return value
    })
    const id = `i-${plainId(order.number)}-${plainId(serial)}`
    if (records.one('item', id)) continue
    const points = (row['points / degC'] ?? '').split(/[\s;]+/).filter(Boolean)
    made.push({
      kind: 'item',
      value: Item.parse({
        id,
        order: order.id,
        customer: order.customer,
        thermometer: thermometer.id,
        condition: row.condition ?? '',
        asked: { lowC, highC, points: points.map((p) => numberIn(p, `point ${p}`, line)) },
      }),
    })
  }
  return made.map(({ kind, value }) => ({ kind, id: value.id, json: JSON.stringify(value) }))
}

function found<T>(known: Map<string, T>, key: string, make: () => T): T {
  const value = known.get(key) ?? make()
  known.set(key, value)
  return value
}
