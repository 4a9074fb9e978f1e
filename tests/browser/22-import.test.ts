import type { Browser } from 'playwright'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { launchChromium, type OpenPage, openWindow } from './chromium.ts'
import { type RunningFake, startFake } from './fake-station.ts'
import { go } from './first-run.ts'

const TABLE = `Time;n 1;Bath / °C;Remark
2026-03-01 19:00:00;1,0451230;24,99;begun
2026-03-01 19:00:01;1,0451232;24,98;
`

describe('a table recorded elsewhere', { timeout: 60_000 }, () => {
  let browser: Browser
  let fake: RunningFake
  let open: OpenPage
  beforeAll(async () => {
    browser = await launchChromium()
    fake = await startFake({ scene: 'running', channels: 2 })
    open = await openWindow(browser, fake.address)
  })
  afterAll(async () => {
    await browser?.close()
    await fake?.close()
  })

  it('is looked at, its columns are given their meaning, and it becomes a session', async () => {
    const { page } = open
    await go(page, 'Archive')
    const chooser = page.waitForEvent('filechooser')
    await page.getByRole('button', { name: 'Import a table' }).click()
    await (await chooser).setFiles({ name: 'march.csv', mimeType: 'text/csv', buffer: Buffer.from(TABLE) })
    await page.getByRole('heading', { name: 'Import march.csv' }).waitFor()
    expect(await page.getByLabel('Between cells').innerText()).toContain('semicolon')
    expect(await page.getByLabel('Decimal sign').innerText()).toContain('comma')
    expect(await page.getByLabel('Column of the time').innerText()).toContain('Time')
    await page.getByLabel('Zone of the times').fill('tomorrow')
    await page.getByText('A zone is typed as +01:00').waitFor()
    expect(await page.getByRole('button', { name: 'Import', exact: true }).isDisabled()).toBe(true)
    await page.getByLabel('Zone of the times').fill('+01:00')
    await page.screenshot({ path: 'test-results/screens/import.png' })
    await page.getByRole('checkbox', { name: 'Bath / °C' }).click({ force: true })
    await page.getByRole('button', { name: 'Import', exact: true }).click()
    await page.getByText(`${Buffer.byteLength(TABLE)} bytes imported.`).waitFor()
    await page.getByRole('heading', { name: 'Import march.csv' }).waitFor({ state: 'detached' })
  })
})
