import { existsSync, mkdirSync, readdirSync, readFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import type { Browser } from 'playwright'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { Customer } from '../../app/records/customer.ts'
import { Item, Order, SessionItem } from '../../app/records/order.ts'
import { ensurePage } from '../../main/host/built.ts'
import { signOffSession } from '../../main/host/issue-certificates.ts'
import { type PageServer, servePage } from '../../main/host/page/server.ts'
import { socketWindows } from '../../main/host/router/index.ts'
import { type EmptyHost, openEmptyHost } from '../host/empty-host.ts'
import { enterKeeper, KEEPER } from '../host/keeper.ts'
import { NOTHING_TO_STATE } from '../host/statements.ts'
import { fixtureSession } from '../report/session-fixture.ts'
import { launchChromium, type OpenPage, openWindow, screenshot } from './chromium.ts'
import { violations } from './violations.ts'

const session = 'fixture-6'
const ORDERS = [
  { id: 'dairy', name: 'Bramblewick Dairy', address: ['1 Churn Yard', 'Bramblewick'], thermometer: 'prt-x1' },
  { id: 'harbour', name: 'Harbour Works', address: [], thermometer: 'prt-x2' },
]

/** One night for two customers, signed, at a station with its real page; one customer has no address yet. */
describe('what a customer gets', { timeout: 180_000 }, () => {
  let host: EmptyHost
  let served: PageServer
  let browser: Browser
  let open: OpenPage
  beforeAll(async () => {
    host = await openEmptyHost(Date.UTC(2026, 2, 20, 8) * 1000)
    const { services, hosted } = host
    const { store } = hosted
    await enterKeeper(services)
    const path = store.sessionPath(session)
    mkdirSync(dirname(path), { recursive: true })
    const asked = { lowC: 0, highC: 100 }
    const made = fixtureSession(path, { seed: 6, setpoints: [0, 50, 100], cell: 'none' }, (setup) => ({
      ...setup,
      job: null,
      bench: {
        ...setup.bench,
        channels: setup.bench.channels.filter(({ id }) => ['s0', 'x1', 'x2'].includes(id)),
      },
      items: ORDERS.map(({ id, name, address, thermometer }) =>
        SessionItem.parse({
          ...{ item: `i-${id}`, thermometer, order: `2026-${id}`, received: '2026-02-24', asked },
          ...{ customer: { name, address }, occasion: 'as-found', wish: {} },
        }),
      ),
    }))
    for (const entry of made.session.setup.register.thermometers) store.saveThermometer(entry, 'test', '')
    store.registerSession(made.session)
    made.session.close()
    const act = { who: KEEPER.name, why: '' }
    for (const { id, name, address, thermometer } of ORDERS) {
      services.orders.saveCustomer(Customer.parse({ id, name, address }), act)
      services.orders.save(
        Order.parse({ id, number: `2026-${id}`, customer: id, received: '2026-02-24' }),
        [
          Item.parse({
            id: `i-${id}`,
            order: id,
            customer: id,
            thermometer,
            session,
            state: 'reviewed',
            asked,
          }),
        ],
        [],
        act,
      )
    }
    const said = { session, who: KEEPER.name, remark: '', statements: NOTHING_TO_STATE }
    await signOffSession(services, { ...said, gapsKnown: true, findingsKnown: true }, null)
    served = await servePage({ folder: ensurePage(), port: 0, ...socketWindows(services) })
    browser = await launchChromium()
    open = await openWindow(browser, served.address)
    const { page } = open
    await page.getByRole('button', { name: 'Sign in', exact: true }).click()
    const dialog = page.getByRole('dialog')
    await dialog.getByLabel('Name').fill(KEEPER.name)
    await dialog.getByLabel('Password').fill(KEEPER.password)
    await dialog.getByRole('button', { name: 'Sign in', exact: true }).click()
    await dialog.waitFor({ state: 'detached' })
  }, 180_000)
  afterAll(async () => {
    await browser?.close()
    await served?.close()
    await host?.close()
  })

  const goToDelivery = async (order: string, customer: string) => {
    const { page } = open
    await page.goto(`${served.address.replace(/#.*/, '')}#orders/${order}/certificate`)
    const delivery = page.getByRole('region', { name: 'Delivery' })
    await delivery.getByText(customer).first().waitFor({ timeout: 60_000 })
    return delivery
  }

  it('is written into a folder of its own, with what is in it said before and where it is after', async () => {
    const delivery = await goToDelivery('dairy', 'Bramblewick Dairy')
    expect(await delivery.innerText()).toContain('Bramblewick Dairy, 1 Churn Yard, Bramblewick gets:')
    expect(await delivery.innerText()).toMatch(/certificate 2026-0001, version 1, as PDF, XML and table/)
    for (const [theme, width] of [
      ['light', 1440],
      ['dark', 1440],
      ['light', 390],
    ] as const) {
      await open.page.evaluate((t) => document.documentElement.setAttribute('data-theme', t), theme)
      await open.page.setViewportSize({ width, height: 900 })
      await delivery.scrollIntoViewIfNeeded()
      if (width > 400) expect(await violations(open.page), theme).toEqual([])
      await screenshot(open.page, `delivery-${theme}-${width}`)
    }
    await open.page.setViewportSize({ width: 1440, height: 900 })
    await delivery.getByRole('button', { name: 'Write the folder' }).click()
    const folder = join(host.folder, 'delivered', session, 'Bramblewick-Dairy')
    await delivery.getByRole('status').waitFor({ timeout: 60_000 })
    expect(await delivery.getByRole('status').innerText()).toBe(`Bramblewick Dairy: 2026-0001 in ${folder}`)
    expect(readdirSync(folder).toSorted()).toEqual([
      '2026-0001-v1.csv',
      '2026-0001-v1.pdf',
      '2026-0001-v1.xml',
      'SHA256SUMS',
      'covering-list.txt',
    ])
    expect(readFileSync(join(folder, '2026-0001-v1.pdf')).subarray(0, 5).toString()).toBe('%PDF-')
    await expect.poll(() => delivery.getByRole('button', { name: 'Handed over another way' }).count()).toBe(0)
  })

  it('is not written for a customer without an address, and the words say where to enter it', async () => {
    const delivery = await goToDelivery('harbour', 'Harbour Works')
    await delivery.getByRole('button', { name: 'Write the folder' }).click()
    await delivery
      .getByText(
        'Enter it in the order, correct the session in Archive (Compare with, today), sign the new version',
      )
      .waitFor({ timeout: 60_000 })
    expect(existsSync(join(host.folder, 'delivered', session, 'Harbour-Works'))).toBe(false)
  })
})
