import { spawnSync } from 'node:child_process'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { Customer } from '../../app/records/customer.ts'
import { Item, Order } from '../../app/records/order.ts'
import { Thermometer } from '../../app/records/register.ts'
import { type EmptyHost, openEmptyHost } from './empty-host.ts'
import { enterKeeper, KEEPER } from './keeper.ts'
import { refusalOf, Windows } from './window.ts'

let host: EmptyHost
const windows = new Windows()
beforeAll(async () => {
  host = await openEmptyHost()
  await enterKeeper(host.services)
})
afterAll(async () => {
  windows.close()
  await host.close()
})

/** What stands on a page of PDF, by poppler, a reader that nobody here wrote; undefined where it is not installed. */
function pdfText(pdf: Buffer): string | undefined {
  const read = spawnSync('pdftotext', ['-', '-'], { input: pdf, encoding: 'utf8' })
  return read.error ? undefined : read.stdout.replace(/\s+/g, ' ')
}

const who = KEEPER.name
const prt = (id: string, serial: string) =>
  Thermometer.parse({
    id,
    name: 'Air probe',
    kind: 'prt',
    serial,
    nominalOhm: 100,
    fit: 'callendar-van-dusen',
    lowC: -20,
    highC: 150,
  })

describe('orders', () => {
  it('take customers, orders and items, and tell who moved an item on', async () => {
    const client = windows.open(host.services, 'operator')
    const customer = Customer.parse({ id: 'c-dairy', name: 'Bramblewick Dairy', address: ['1 Churn Yard'] })
    await client.orders.saveCustomer({ customer })
    const order = Order.parse({
      id: 'o-1',
      number: '2026-17',
      customer: 'c-dairy',
      received: '2026-03-01',
      wantedBy: '2026-03-20',
    })
    const item = Item.parse({
      id: 'i-1',
      order: 'o-1',
      customer: 'c-dairy',
      thermometer: 't-1',
      asked: { lowC: 0, highC: 80 },
    })
    const nobody = { ...order, customer: 'c-nobody' }
    expect((await refusalOf(client.orders.save({ order: nobody, items: [] }))).words).toContain(
      'Enter the customer first',
    )
    expect((await refusalOf(client.orders.save({ order, items: [item] }))).words).toContain(
      'no thermometer "t-1"',
    )
    await client.orders.save({ order, items: [item], thermometers: [prt('t-1', '77031')] })
    await client.orders.move({ item: 'i-1', state: 'measured' })
    const { rows, total } = await client.orders.list({ search: '2026' })
    expect(total).toBe(1)
    expect(rows[0]).toMatchObject({
      number: '2026-17',
      customer: 'Bramblewick Dairy',
      wantedBy: '2026-03-20',
      items: 1,
      states: { measured: 1 },
    })
    const { items } = await client.orders.get({ id: 'o-1' })
    expect(items[0]!.steps.map((s) => [s.state, s.who])).toEqual([
      ['received', who],
      ['measured', who],
    ])
    const [entry] = host.hosted.store.ledger({ subject: 'i-1' })
    expect(entry).toMatchObject({ who: who, what: 'item saved' })
    expect(await client.orders.receipt({ id: 'o-1' })).toContain('77031')
  })

  it('keep the record of a thermometer that returns as it is', async () => {
    const client = windows.open(host.services, 'operator')
    const { order, items } = await client.orders.get({ id: 'o-1' })
    const typedAnew = { ...prt('t-1', '77031'), name: 'typed in a hurry' }
    await client.orders.save({ order, items: items.map(({ item }) => item), thermometers: [typedAnew] })
    expect((await client.orders.get({ id: 'o-1' })).items[0]!.thermometer?.name).toBe('Air probe')
  })

  it('go out as a table and come in again, the same ones found again', async () => {
    const client = windows.open(host.services, 'operator')
    const text = [
      'order;customer;received;wanted by;thermometer;serial number;from / degC;to / degC;points / degC;condition;state',
      '2026-18;Harrow Fell Instruments;2026-03-02;;Oven probe;88112;20;95;20 50 95;clean;received',
      '2026-18;Harrow Fell Instruments;2026-03-02;;Air probe;77031;0;50;;clean;received',
    ].join('\n')
    expect((await client.orders.importCsv({ text })).words).toBe('2 items were taken in.')
    expect((await client.orders.importCsv({ text })).words).toBe('0 items were taken in.')
    expect((await client.orders.customers()).map(({ name }) => name)).toEqual([
      'Bramblewick Dairy',
      'Harrow Fell Instruments',
    ])
    const table = await client.orders.exportCsv()
    expect(table.split('\n')).toHaveLength(5)
    expect(table).toContain(
      '2026-18,Harrow Fell Instruments,2026-03-02,,Oven probe,88112,20,95,20 50 95,clean,received',
    )
    const bad = text.replace(';20;95;', ';warm;95;')
    expect((await refusalOf(client.orders.importCsv({ text: bad }))).words).toBe(
      'Line 2: from is not a number. Nothing was taken in.',
    )
  })

  it('that come as a table know a thermometer by its owner too: makers number from 1 each', async () => {
    const client = windows.open(host.services, 'operator')
    const head =
      'order,customer,received,wanted by,thermometer,serial number,from / degC,to / degC,points / degC,condition,state'
    const line = (order: string, customer: string) =>
      `${order},${customer},2026-03-02,,Probe,1,0,50,,,received`
    const text = [
      head,
      line('2026-30', 'Bramblewick Dairy'),
      line('2026-31', 'Harrow Fell Instruments'),
    ].join('\n')
    expect((await client.orders.importCsv({ text })).words).toBe('2 items were taken in.')
    const again = [head, line('2026-32', 'Harrow Fell Instruments')].join('\n')
    await client.orders.importCsv({ text: again })
    const { records } = host.hosted.store
    const sent = (order: string) =>
      records.all('item').find((item) => records.one('order', item.order)?.number === order)!.thermometer
    expect(sent('2026-31')).not.toBe(sent('2026-30'))
    expect(sent('2026-32')).toBe(sent('2026-31'))
    expect(records.one('thermometer', sent('2026-30'))!.owner).toBe('Bramblewick Dairy')
  })

  it('fill the bath of the bench and measure each item at its own points for its own customer', async () => {
    const client = windows.open(host.services, 'operator')
    await client.bench.startLab({ seed: 3, scenario: 'demo' })
    const bench = (await client.bench.get())!
    const [one, two] = bench.channels.filter(({ role, name }) => role === 'under-test' && /PRT/.test(name))
    const customers = ['Bramblewick Dairy', 'Harrow Fell Instruments']
    const asked = [
      { lowC: 20, highC: 50, points: [20, 35, 50] },
      { lowC: 20, highC: 60, points: [20, 40, 60] },
    ]
    for (const [i, channel] of [one!, two!].entries()) {
      const customer = (await client.orders.customers()).find(({ name }) => name === customers[i])!
      await client.orders.save({
        order: Order.parse({
          id: `o-f${i}`,
          number: `F-${i}`,
          customer: customer.id,
          received: '2026-03-01',
        }),
        items: [
          Item.parse({
            id: `i-f${i}`,
            order: `o-f${i}`,
            customer: customer.id,
            thermometer: channel.thermometer,
            asked: asked[i]!,
          }),
        ],
      })
    }
    const fill = await client.orders.fill({ items: ['i-f0', 'i-f1'] })
    expect(fill.placed.map(({ item, own }) => [item, own])).toEqual([
      ['i-f0', [20, 35, 50]],
      ['i-f1', [20, 40, 60]],
    ])
    const { plan } = await client.orders.prepare({
      placed: fill.placed.map(({ item, channel }) => ({ item, channel })),
      setpoints: fill.setpoints,
    })
    expect(plan.setpoints.map(({ celsius }) => celsius)).toEqual([20, 35, 40, 50, 60])
    const preview = await client.plan.preview({ plan })
    const { session } = await client.run.start({
      plan: plan.id,
      items: ['i-f0', 'i-f1'],
      accept: preview.checks.map(({ id }) => id),
    })
    await host.hosted.station.finished
    const fits = await client.points.fits({ session })
    const pointsOf = (thermometer: string) =>
      fits.find((fit) => fit.thermometer === thermometer)!.points.map(({ celsius }) => Math.round(celsius))
    expect(pointsOf(one!.thermometer!)).toEqual([20, 35, 50])
    expect(pointsOf(two!.thermometer!)).toEqual([20, 40, 60])
    expect(fits).toHaveLength(2)
    // Nobody reads on their own paper for whom else the laboratory works.
    for (const [i, channel] of [one!, two!].entries()) {
      const page = await client.points.certificateHtml({ session, thermometer: channel.thermometer! })
      expect(page).toContain(customers[i])
      expect(page).toContain(`F-${i}`)
      expect(page).not.toContain(customers[1 - i])
      expect(page).not.toContain(`F-${1 - i}`)
      const file = await client.points.certificatePdf({ session, thermometer: channel.thermometer! })
      const text = pdfText(Buffer.from(await (file as unknown as Blob).arrayBuffer()))
      if (text === undefined) continue
      expect(text).toContain(customers[i])
      expect(text).toContain(`F-${i}`)
      expect(text).not.toContain(customers[1 - i])
      expect(text).not.toContain(`F-${1 - i}`)
    }
    expect((await client.orders.get({ id: 'o-f0' })).items[0]!.item).toMatchObject({
      state: 'measured',
      session,
    })
  }, 120_000)
})
