import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, it, onTestFinished } from 'vitest'
import { Settings } from '../../app/contract/settings.ts'
import { Customer } from '../../app/records/customer.ts'
import { Item, Order } from '../../app/records/order.ts'
import { type HostedStation, openHostedStation } from '../../main/host/open-station.ts'
import { Services } from '../../main/host/services.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { postgresMissing } from '../store/forward-servers.ts'
import { laboratoryServer, until } from '../store/laboratory-bench.ts'
import { enterKeeper, KEEPER } from './keeper.ts'
import { NOTHING_TO_STATE } from './statements.ts'
import { type Client, refusalOf, Windows } from './window.ts'

interface Host {
  hosted: HostedStation
  services: Services
  client: Client
}

async function bench(name: string, url: string, clock: VirtualClock, windows: Windows): Promise<Host> {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-bench-'))
  const hosted = await openHostedStation({ folder, clock, clockKind: 'virtual' })
  const services = new Services(hosted)
  onTestFinished(async () => {
    await services.close()
    await hosted.close()
    rmSync(folder, { recursive: true, force: true })
  })
  await enterKeeper(services)
  const client = windows.open(services, 'operator')
  await client.settings.save({
    settings: Settings.parse({
      laboratory: { name: 'Quennick Test Laboratory', address: ['1 Sluice Row'], country: 'XX' },
      sharedRegister: { url, bench: name },
    }),
  })
  return { hosted, services, client }
}

const connected = ({ services }: Host) => services.laboratory.exchange?.state === 'up-to-date'

it('a job is received at one bench, measured at another and signed at the first, with the database stopped twice', async (context) => {
  if (postgresMissing) return context.skip(postgresMissing)
  const server = await laboratoryServer()
  const clock = new VirtualClock({ startUtcUs: Date.UTC(2026, 2, 1, 18) * 1000 })
  const windows = new Windows()
  onTestFinished(() => {
    windows.close()
    clock.stop()
  })
  const second = await bench('Bench 2', server.url, clock, windows)
  const first = await bench('Bench 1', server.url, clock, windows)
  await second.client.bench.startLab({ seed: 3, scenario: 'demo' })
  await until(() => connected(first) && connected(second))

  // Received at the first while the database is away; the second has the reference.
  await server.stop()
  const own = (await second.client.bench.get())!
  const channel = own.channels.find(({ role, name: label }) => role === 'under-test' && /PRT/.test(label))!
  const probe = second.services.store.records.one('thermometer', channel.thermometer!)!
  await first.client.orders.saveCustomer({
    customer: Customer.parse({ id: 'c-1', name: 'Bramblewick Dairy', address: ['1 Churn Yard'] }),
  })
  await first.client.orders.save({
    order: Order.parse({ id: 'o-1', number: '2026-17', customer: 'c-1', received: '2026-03-01' }),
    items: [
      Item.parse({
        ...{ id: 'i-1', order: 'o-1', customer: 'c-1', thermometer: probe.id },
        asked: { lowC: 20, highC: 60, points: [20, 40, 60] },
      }),
    ],
    thermometers: [probe],
  })
  await server.answer()
  await until(async () => (await second.client.orders.fill({})).waiting.length === 1)

  const fill = await second.client.orders.fill({ items: ['i-1'] })
  const { plan } = await second.client.orders.prepare({
    placed: fill.placed.map(({ item, channel: at }) => ({ item, channel: at })),
    setpoints: fill.setpoints,
  })
  const { checks } = await second.client.plan.preview({ plan })
  const { session } = await second.client.run.start({
    ...{ plan: plan.id, items: ['i-1'] },
    accept: checks.map(({ id }) => id),
  })
  // The first sees it run: on the page of benches, and in its list of sessions.
  await until(async () => {
    const { benches } = await first.client.laboratory.benches()
    return benches.some(({ name, state }) => name === 'Bench 2' && state?.session != null)
  })
  await until(async () => (await first.client.archive.sessions({})).total === 1)
  const reference = own.channels.find(({ role }) => role === 'reference')!.thermometer!
  await until(() => first.services.laboratory.elsewhere()[reference] !== undefined)

  // The reference is recalled at the first, while the database is away again.
  await server.stop()
  const record = first.services.store.records.one('thermometer', reference)!
  await first.client.register.saveThermometer({
    entry: { ...record, outOfUse: { since: '2026-03-01', why: 'recalled by its calibration laboratory' } },
    why: 'letter of today',
  })
  await second.hosted.station.finished
  await server.answer()
  await until(() => second.services.store.records.one('thermometer', reference)?.outOfUse !== undefined)
  expect((await second.client.plan.preview({ plan })).checks).toContainEqual(
    expect.objectContaining({
      severity: 'stop',
      words: expect.stringContaining('out of use since 2026-03-01: recalled by its calibration laboratory.'),
    }),
  )

  // Signed at the first: the session comes there, whole, and goes back with the signature.
  await until(async () => {
    const { rows } = await first.client.archive.sessions({})
    return rows[0]?.info.endedUtcUs != null && rows[0].away === true
  })
  await until(async () => (await server.query('SELECT 1 FROM stillpoint_laboratory.file')).length === 1)
  expect(await first.client.archive.verify({ session })).toMatchObject({ whole: true })
  expect((await first.client.points.list({ session })).length).toBe(3)
  const holds = await first.client.points.signOffHolds({ session })
  expect(holds.findings.join(' ')).toContain('recalled by its calibration laboratory')
  await first.client.points.signOff({
    ...{ session, password: KEEPER.password, statements: NOTHING_TO_STATE },
    ...{ gapsKnown: true, findingsKnown: true },
  })
  const signed = async ({ client }: Host) => (await client.points.report({ session })).status === 'signed'
  expect(await signed(first)).toBe(true)
  await until(() => signed(second))
  await until(async () => (await second.client.orders.get({ id: 'o-1' })).items[0]?.item.state === 'signed')
  expect(await second.client.archive.verify({ session })).toMatchObject({ whole: true })
  const given = [first, second].map(({ services }) => services.store.certificates().length)
  expect(given).toEqual([1, 0])
  expect(await first.client.laboratory.undecided()).toEqual([])

  // Both say who is on the bench otherwise: one decides.
  for (const [i, { client, services }] of [first, second].entries()) {
    if (i === 0) await server.stop()
    const customer = services.store.records.one('customer', 'c-1')!
    await client.orders.saveCustomer({ customer: { ...customer, note: `said at bench ${i + 1}` } })
  }
  await server.answer()
  await until(async () => (await second.client.laboratory.undecided()).length === 1)
  const [dispute] = await second.client.laboratory.undecided()
  expect(dispute).toMatchObject({ kind: 'customer', name: 'Bramblewick Dairy', fields: ['note'] })
  const kept = dispute!.sides.find(({ bench: at }) => at === 'Bench 2')!
  expect(kept.values).toEqual(['said at bench 2'])
  await second.client.laboratory.decide({ kind: 'customer', id: 'c-1', hash: kept.hash, why: 'rang them up' })
  await until(() => first.services.store.records.one('customer', 'c-1')?.note === 'said at bench 2')
  const watcher = windows.open(first.services, 'watcher')
  expect((await refusalOf(watcher.laboratory.benches())).words).toContain('Onlookers see this bench alone')
}, 180_000)
