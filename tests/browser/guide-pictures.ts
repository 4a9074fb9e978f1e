/**
 * Makes the pictures of the guide, from the real page of a real station in and after a night of the demo.
 *   npm run picture:guide
 */
import { mkdirSync, mkdtempSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from 'playwright'
import { ensurePage } from '../../main/host/built.ts'
import { placeOrders } from '../../main/host/demo-orders.ts'
import { LAB_LABORATORY, placeLab } from '../../main/host/lab-desk.ts'
import { planFor } from '../../main/host/lab-night.ts'
import { openHostedStation } from '../../main/host/open-station.ts'
import { measureItems } from '../../main/host/orders/measure-items.ts'
import { servePage } from '../../main/host/page/server.ts'
import { socketWindows } from '../../main/host/router/index.ts'
import { Services } from '../../main/host/services.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { launchChromium, openWindow } from './chromium.ts'

const OUT = join(import.meta.dirname, '../../docs/guide/pictures')
const OPERATOR = 'M. Tarn'
/** An evening that is the same each time, so that the same pictures come out. */
const EVENING = Date.UTC(2026, 2, 12, 17, 30) * 1000

interface Picture {
  readonly name: string
  /** Where in the window it is, as its address has it. */
  readonly hash: string
  /** What a person does there first. */
  readonly act?: (page: Page) => Promise<void>
  /** Words that stand there once everything does. */
  readonly words: string | RegExp
}

const press = (page: Page, name: string | RegExp) => page.getByRole('button', { name }).first().click()

const IN_THE_NIGHT: readonly Picture[] = [
  { name: 'bench', hash: '#bench', words: 'Find instruments' },
  { name: 'watch', hash: '#watch', words: /Bath \d/ },
]

const AFTER_THE_NIGHT: readonly Picture[] = [
  { name: 'plan', hash: '#plan', words: /Ends about/ },
  {
    name: 'budget',
    hash: '#points',
    words: 'Combined standard uncertainty',
    act: async (page) => {
      await press(page, 'Unfold the budget')
      await page.getByText('Combined standard uncertainty').first().scrollIntoViewIfNeeded()
    },
  },
  { name: 'order', hash: '#orders/order-harrow-fell', words: 'your turn' },
  { name: 'replay', hash: '#archive', words: 'What happened last', act: (page) => press(page, 'Replay') },
]

const folder = mkdtempSync(join(tmpdir(), 'stillpoint-pictures-'))
const clock = new VirtualClock({ startUtcUs: EVENING, speed: 300 })
const hosted = await openHostedStation({ folder, clock, clockKind: 'virtual' })
const services = new Services(hosted)
hosted.store.saveSettings(services.settings({ laboratory: LAB_LABORATORY }), OPERATOR)
services.lab = await placeLab(hosted.store, clock, { seed: 1, scenario: 'demo' })
services.people.practise(OPERATOR)
await hosted.station.open()
const served = await servePage({ folder: ensurePage(), port: 0, ...socketWindows(services) })
hosted.station.chooseBench(services.lab.bench.id, OPERATOR)
const night = planFor(hosted.station)
const items = placeOrders(services, services.lab.bench, night.plan, OPERATOR)
await measureItems(services, items, { ...night, operator: OPERATOR, name: 'Overnight comparison' })

const browser = await launchChromium()
try {
  mkdirSync(OUT, { recursive: true })
  const { page } = await openWindow(browser, served.address, { width: 1200, height: 760, scale: 0.8 })
  const take = async ({ name, hash, act, words }: Picture) => {
    await page.evaluate((to) => {
      location.hash = to
    }, hash)
    await page.waitForTimeout(1_500)
    await act?.(page)
    await page.getByText(words).first().waitFor({ timeout: 60_000 })
    await page.waitForTimeout(1_500)
    const path = join(OUT, `${name}.png`)
    await page.screenshot({ path })
    console.log(`${name}.png: ${statSync(path).size} bytes`)
  }
  await page
    .getByText(/3 of 5/)
    .first()
    .waitFor({ timeout: 240_000 })
  for (const picture of IN_THE_NIGHT) await take(picture)
  await hosted.station.finished
  clock.setSpeed(1)
  await page.getByRole('button', { name: 'Acknowledge' }).click()
  for (const picture of AFTER_THE_NIGHT) await take(picture)
} finally {
  await browser.close()
  await served.close()
  await services.close()
  await hosted.close()
  clock.stop()
  rmSync(folder, { recursive: true, force: true })
}
