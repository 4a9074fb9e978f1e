import type { Browser } from 'playwright'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { launchChromium, openWindow, screenshot } from './chromium.ts'
import { startFake } from './fake-station.ts'

describe('live readings', { timeout: 90_000 }, () => {
  let browser: Browser
  beforeAll(async () => {
    browser = await launchChromium()
  })
  afterAll(async () => {
    await browser?.close()
  })

  it('keeps 96 channels at ten readings a second moving', async () => {
    const fake = await startFake({ scene: 'running', channels: 96, rateHz: 10 })
    const { page, complaints } = await openWindow(browser, fake.address)
    await expect
      .poll(() => page.locator('.readout .digits-strong').first().innerText(), { timeout: 20_000 })
      .toMatch(/\d/)
    const { texts, painted } = await page.evaluate(async () => {
      const digit = document.querySelector('.readouts .readout:nth-child(40) .digits')!
      const seen = new Set<string>()
      let count = 0
      const observer = new PerformanceObserver((list) => {
        count += list.getEntriesByName('reading-to-paint').length
      })
      observer.observe({ entryTypes: ['measure'] })
      for (let i = 0; i < 80; i++) {
        seen.add(digit.textContent ?? '')
        await new Promise((resolve) => setTimeout(resolve, 50))
      }
      observer.disconnect()
      return { texts: seen.size, painted: count }
    })
    // Four seconds of noise in the last digit, and arrivals that reach a frame: else the page stands still.
    expect(texts).toBeGreaterThan(1)
    expect(painted).toBeGreaterThan(10)
    expect(complaints).toEqual([])
    await page.close()
    await fake.close()
  })

  it('joins again by itself after the core has gone and come back, and says so meanwhile', async () => {
    const fake = await startFake({ scene: 'running', channels: 8, rateHz: 5 })
    const { page } = await openWindow(browser, fake.address)
    await expect.poll(() => page.locator('.readout .digits-strong').first().innerText()).toMatch(/\d/)
    fake.crash()
    await page.locator('.state-lost').waitFor()
    await screenshot(page, 'lost')
    expect(await page.locator('.state-lost').innerText()).toMatch(/station/)
    // Old numbers must not pass for new ones: the head says so, and they are dimmed.
    expect(await page.locator('.group-words').innerText()).toMatch(/station/)
    expect(await page.locator('.watch.is-old .readout').count()).toBe(8)
    fake.revive()
    await expect.poll(() => page.locator('.state-lost').count(), { timeout: 15_000 }).toBe(0)
    expect(await page.locator('.watch.is-old').count()).toBe(0)
    const first = await page.locator('.readout .digits').first().innerText()
    await expect
      .poll(() => page.locator('.readout .digits').first().innerText(), { timeout: 10_000 })
      .not.toBe(first)
    await page.close()
    await fake.close()
  })

  it('takes a channel off the others, also over the record that is older than the live readings', async () => {
    const fake = await startFake({ scene: 'running', channels: 4, rateHz: 1 })
    const { page, context, complaints } = await openWindow(browser, fake.address)
    const choose = async (what: string, option: string) => {
      await page.getByRole('button', { name: what }).click()
      await page.getByRole('option', { name: option }).click()
    }
    const first = page.locator('.readout').first()
    await expect.poll(() => first.locator('.digits-strong').innerText()).toMatch(/\d/)
    await choose('Difference from', 'Less Standard S1')
    await choose('Time in view', '4 h')
    // The base stays in degrees, the others differ from it by millikelvins.
    expect(await first.locator('.digits-unit').innerText()).toContain('°C')
    expect(await page.locator('.readout').nth(1).locator('.digits-unit').innerText()).toContain('mK')
    await page.getByRole('button', { name: 'Copy data' }).click()
    await expect
      .poll(() => page.evaluate(() => navigator.clipboard.readText()), { timeout: 10_000 })
      .toMatch(/^UTC\tThermometer 01 \/ mK/)
    const rows = (await page.evaluate(() => navigator.clipboard.readText())).split('\n').slice(1)
    const start = fake.station.startUtcUs / 1000
    const times = rows.map((row) => Date.parse(row.split('\t')[0]!))
    // Live readings go back an hour; the night is two hours old and all of it is in view.
    expect(Math.min(...times) - start).toBeLessThan(60_000)
    const settled = rows.slice(-300).map((row) =>
      Math.max(
        ...row
          .split('\t')
          .slice(1)
          .map((cell) => Math.abs(Number(cell))),
      ),
    )
    for (const value of settled) expect(value).toBeLessThan(40)
    await page.keyboard.press('s')
    const table = page.getByRole('region', { name: 'Statistics of the selected stretch' })
    await table.getByRole('rowheader', { name: 'Thermometer 03' }).waitFor()
    expect(await table.getByRole('heading').innerText()).toContain('less Standard S1')
    expect(await table.getByRole('rowheader').count()).toBe(3)
    await screenshot(page, 'differences')
    expect(complaints).toEqual([])
    await context.close()
    await fake.close()
  })

  it('says so where a place cannot be fetched, keeps the rest, and fetches it when asked again', async () => {
    const fake = await startFake({ scene: 'running', channels: 8, rateHz: 5 })
    const context = await browser.newContext({ viewport: { width: 1280, height: 800 } })
    await context.route('**/assets/Archive*', (route) => route.abort())
    const page = await context.newPage()
    await page.goto(fake.address)
    await expect.poll(() => page.locator('.readout .digits-strong').first().innerText()).toMatch(/\d/)
    await page.keyboard.press('5')
    await page.getByText('This place cannot be shown just now.').waitFor({ timeout: 15_000 })
    await page.keyboard.press('2')
    await expect.poll(() => page.locator('.readout .digits-strong').first().innerText()).toMatch(/\d/)
    await page.keyboard.press('5')
    await page.getByText('This place cannot be shown just now.').waitFor()
    await context.unroute('**/assets/Archive*')
    await page.getByRole('button', { name: 'Try once more' }).click()
    await page.getByLabel('Search sessions').waitFor({ timeout: 15_000 })
    await context.close()
    await fake.close()
  })

  it('keeps its key out of the address bar and refuses without one', async () => {
    const fake = await startFake({ scene: 'ready' })
    const { page } = await openWindow(browser, fake.address)
    expect(page.url()).not.toContain('token')
    const stranger = await browser.newContext()
    const other = await stranger.newPage()
    await other.goto(fake.address.split('#')[0]!)
    await other.getByText('The station does not know this window.').first().waitFor({ timeout: 20_000 })
    await stranger.close()
    await page.close()
    await fake.close()
  })
})
