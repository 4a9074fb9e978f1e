import { join } from 'node:path'
import { counted } from '../../../app/base/plural.ts'
import { utcDay } from '../../../app/base/times.ts'
import { said } from '../../../app/messages/said.ts'
import { standardReferences } from '../../../app/plan/standard-reference.ts'
import { ITEM_STATE_WORDS } from '../../../app/records/order-table.ts'
import { Plan } from '../../../app/records/plan.ts'
import { receiptHtml } from '../../../app/report/receipt.ts'
import { privateFolder } from '../../store/private.ts'
import { saveRead } from '../../store/register-file.ts'
import { deliver } from '../deliver.ts'
import { nameOf, os, refused } from './base.ts'

/** Settling for industrial thermometers to about 10 mK, where no plan of the station says otherwise. Common practice, no source. */
const WORKING = {
  settling: { windowS: 300, driftMkPerMin: 1, spreadMk: 2, bandK: 0.2, holdS: 300 },
  cycles: 3,
} as const

export const orderRoutes = {
  list: os.orders.list.handler(({ context, input }) => context.services.orders.list(input)),
  get: os.orders.get.handler(({ context, input }) => context.services.orders.get(input.id)),
  save: os.orders.save.handler(({ context, input }) => {
    const { services } = context
    const { order, items, thermometers, why } = input
    const who = nameOf(context)
    services.orders.save(order, items, thermometers, { who, why })
    services.station.touched('orders')
    services.station.touched('register')
    return { words: `Order ${order.number} is stored with ${counted(items.length, 'item')}.` }
  }),
  move: os.orders.move.handler(({ context, input }) => {
    const { services } = context
    services.orders.move(input.item, input.state, { who: nameOf(context), why: input.why })
    services.station.touched('orders')
    return { words: `The item is ${ITEM_STATE_WORDS[input.state]}.` }
  }),
  customers: os.orders.customers.handler(({ context }) => context.services.orders.customers()),
  saveCustomer: os.orders.saveCustomer.handler(({ context, input }) => {
    const { services } = context
    services.orders.saveCustomer(input.customer, { who: nameOf(context), why: input.why })
    services.station.touched('orders')
    return { words: `${input.customer.name} is stored.` }
  }),
  fill: os.orders.fill.handler(({ context: { services }, input }) =>
    services.orders.fill(services.station.bench, input.items),
  ),
  prepare: os.orders.prepare.handler(async ({ context, input }) => {
    const { services } = context
    const { station, store, orders } = services
    await station.endLook('The bath is filled.')
    const bench = station.bench
    if (!bench) refused(said('fill-without-bench', {}))
    if (station.session) refused(said('fill-while-running', {}))
    const placed = orders.placedOn(bench, input.placed)
    const like = store.plans()[0]
    const date = utcDay(services.clock.now().utcUs)
    const standard = standardReferences(placed, store.registerOfBench(placed), date)
    const plan = Plan.parse({
      ...(like ?? { ...WORKING, wtpCheck: standard.length > 0 }),
      id: 'filled-bath',
      name: `Filled bath, ${counted(input.placed.length, 'item')}`,
      setpoints: input.setpoints.map((celsius) => ({ celsius })),
    })
    store.saveBench(placed, nameOf(context), 'bath filled')
    store.savePlan(plan, nameOf(context), 'bath filled')
    for (const { item } of input.placed)
      orders.move(item, 'on-bench', { who: nameOf(context), why: 'bath filled' })
    station.touched('bench')
    station.touched('plans')
    station.touched('orders')
    return {
      plan,
      words: `${counted(input.placed.length, 'item is', 'items are')} on the bench, ${counted(input.setpoints.length, 'setpoint is', 'setpoints are')} planned.`,
    }
  }),
  receipt: os.orders.receipt.handler(({ context: { services }, input }) =>
    receiptHtml(services.orders.get(input.id), services.settings().laboratory),
  ),
  parcels: os.orders.parcels.handler(async ({ context: { services }, input, signal }) => {
    const known = new Map(services.orders.customers().map(({ name, email }) => [name, email]))
    const parcels = await services.reports.ask(signal).parcels(input.session)
    return {
      canMail: services.store.alarmRules().email !== null,
      parcels: parcels.map((parcel) => ({ ...parcel, email: known.get(parcel.customer ?? '') ?? '' })),
    }
  }),
  changedCustomers: os.orders.changedCustomers.handler(async ({ context: { services }, input }) => {
    const { changedCustomers } = await import('../../study/amend-session.ts')
    const changed = changedCustomers(services.store, services.sessions.read(input.session))
    return [...new Set(Object.values(changed).map(({ name }) => name))]
  }),
  deliver: os.orders.deliver.handler(async ({ context, input }) => {
    const { services } = context
    const { store, reports, clock } = services
    privateFolder(join(services.folder, 'delivered'))
    const lines = await deliver(
      { store, ask: reports.ask(), paper: services.settings().paper },
      {
        ...input,
        out: join(services.folder, 'delivered', input.session),
        act: { who: nameOf(context), why: 'certificates delivered' },
        nowUtcUs: clock.now().utcUs,
      },
    )
    services.station.touched('orders')
    return { words: lines.join(' ') }
  }),
  exportCsv: os.orders.exportCsv.handler(({ context: { services }, signal }) =>
    services.reader.long(signal).ordersFile(services.folder),
  ),
  importCsv: os.orders.importCsv.handler(async ({ context, input }) => {
    const { services } = context
    const { store, reader, clock, folder } = services
    const act = { who: nameOf(context), why: 'taken from a table' }
    const read = await reader.long().readOrders(folder, input.text, clock.now().utcUs)
    await saveRead(store, read, act, true)
    const items = read.filter(({ kind }) => kind === 'item').length
    services.station.touched('orders')
    services.station.touched('register')
    return { words: `${counted(items, 'item was', 'items were')} taken in.` }
  }),
}
