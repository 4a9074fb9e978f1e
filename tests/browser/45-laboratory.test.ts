import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { expect, it, onTestFinished } from 'vitest'
import { Settings } from '../../app/contract/settings.ts'
import { Customer } from '../../app/records/customer.ts'
import { ensurePage } from '../../main/host/built.ts'
import { openHostedStation } from '../../main/host/open-station.ts'
import { servePage } from '../../main/host/page/server.ts'
import { socketWindows } from '../../main/host/router/index.ts'
import { Services } from '../../main/host/services.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { Windows } from '../host/window.ts'
import { postgresMissing } from '../store/forward-servers.ts'
import { laboratoryServer, until } from '../store/laboratory-bench.ts'
import { launchChromium, openWindow, screenshot } from './chromium.ts'
import { violations } from './violations.ts'

/** A real station of the laboratory, where its invented metrologist may do everything. */
async function bench(name: string, who: string, url: string, windows: Windows) {
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-bench-'))
  const hosted = await openHostedStation({ folder, clock: new RealClock(), clockKind: 'real' })
  const services = new Services(hosted)
  services.people.practise(who)
  const page = await servePage({ folder: ensurePage(), port: 0, ...socketWindows(services) })
  onTestFinished(async () => {
    await page.close()
    await services.close()
    await hosted.close()
    rmSync(folder, { recursive: true, force: true })
  })
  const client = windows.open(services, 'operator', who)
  await client.settings.save({
    settings: Settings.parse({
      laboratory: { name: 'Quennick Test Laboratory', address: ['1 Sluice Row'], country: 'XX' },
      sharedRegister: { url, bench: name },
    }),
  })
  return { name, services, client, address: page.address }
}

it('two benches that changed the same entry are shown side by side, and a person decides in the window', async (context) => {
  if (postgresMissing) return context.skip(postgresMissing)
  const server = await laboratoryServer()
  const windows = new Windows()
  onTestFinished(() => windows.close())
  const benches = [
    await bench('By the window', 'I. Marlow', server.url, windows),
    await bench('Hot bath', 'T. Reed', server.url, windows),
  ]
  const noteAt = (i: number) => benches[i]!.services.store.records.one('customer', 'c-1')?.note
  const say = (i: number, note: string) =>
    benches[i]!.client.orders.saveCustomer({
      customer: Customer.parse({ id: 'c-1', name: 'Bramblewick Dairy', address: ['1 Churn Yard'], note }),
    })
  await say(0, 'as received')
  await until(() => noteAt(1) === 'as received')
  await server.stop()
  await say(0, 'said by the window')
  await say(1, 'said at the hot bath')
  await server.answer()
  for (const { client } of benches)
    await until(async () => (await client.laboratory.undecided()).length === 1)

  const browser = await launchChromium()
  onTestFinished(() => browser.close())
  const { page, complaints } = await openWindow(browser, benches[0]!.address, { width: 1280, height: 800 })
  await page.keyboard.press('8')
  const dispute = page.locator('.dispute')
  await dispute.getByText('said at the hot bath').waitFor()
  await dispute.getByText('said by the window').waitFor()
  await screenshot(page, 'dispute')
  expect(await violations(page)).toEqual([])
  const take = dispute.getByRole('button', { name: 'Take what T. Reed said at Hot bath' })
  expect(await take.isDisabled()).toBe(true)
  await dispute.getByLabel('Why is it so?').fill('rang them up')
  await take.click()
  await dispute.waitFor({ state: 'detached' })
  await until(() => noteAt(0) === 'said at the hot bath' && noteAt(1) === 'said at the hot bath')
  await until(async () => (await benches[1]!.client.laboratory.undecided()).length === 0)
  expect(complaints).toEqual([])
}, 120_000)
