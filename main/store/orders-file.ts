import { stringify } from 'csv-stringify/sync'
import { ITEM_STATE_WORDS, ORDER_COLUMNS } from '../../app/records/order-table.ts'
import { readRecords } from './register-file.ts'
import type { Db } from './sqlite.ts'

/** Every item of every order as one table. */
export function ordersText(db: Db): string {
  const records = readRecords(db)
  const orders = new Map(records.all('order').map((order) => [order.id, order]))
  const customers = new Map(records.all('customer').map((customer) => [customer.id, customer]))
  const rows = records.all('item').map((item) => {
    const order = orders.get(item.order)
    const thermometer = records.one('thermometer', item.thermometer)
    return [
      order?.number ?? '',
      customers.get(item.customer)?.name ?? '',
      order?.received ?? '',
      order?.wantedBy ?? '',
      thermometer?.name ?? '',
      thermometer?.serial ?? '',
      item.asked.lowC,
      item.asked.highC,
      item.asked.points.join(' '),
      item.condition,
      ITEM_STATE_WORDS[item.state],
    ]
  })
  return stringify(rows, { header: true, columns: [...ORDER_COLUMNS], escape_formulas: true })
}
