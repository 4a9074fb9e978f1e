import type { Browser } from 'playwright'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { launchChromium, type OpenPage, openWindow } from './chromium.ts'
import { go } from './first-run.ts'
import { startWholeStation, type WholeStation } from './whole-station.ts'

const TABLE = `Time;n 1;Bath / °C;Remark
2026-03-01 19:00:00;1,0451230;24,99;begun
2026-03-01 19:00:01;1,0451232;24,98;
`

describe('a session without a plan', { timeout: 90_000 }, () => {
  let browser: Browser
  let whole: WholeStation
  let open: OpenPage
  beforeAll(async () => {
    browser = await launchChromium()
    whole = await startWholeStation(20)
    open = await openWindow(browser, whole.address)
  })
  afterAll(async () => {
    await browser?.close()
    await whole?.close()
  })

  it('begins from Watch, shows every channel, and is stopped by a person with a reason', async () => {
    const { page } = open
    await page.getByRole('button', { name: 'Try it on the lab in a box' }).click()
    await expect.poll(() => whole.services.station.bench, { timeout: 60_000 }).toBeDefined()
    await go(page, 'Watch')
    await page.getByText('Nothing is measured yet').waitFor()
    await page.screenshot({ path: 'test-results/screens/nothing-yet.png' })
    await page.getByRole('button', { name: 'Record without a plan' }).click()
    const dialog = page.getByRole('dialog')
    await dialog.getByLabel('Name of the session').fill('Cell of March')
    await dialog.getByRole('button', { name: 'Record', exact: true }).click()
    await expect
      .poll(() => whole.services.station.session?.recorder.stored ?? 0, { timeout: 30_000 })
      .toBeGreaterThan(6)
    await expect.poll(() => page.locator('.readout .digits-strong').first().innerText()).toMatch(/^\d+\.\d/)
    await page.screenshot({ path: 'test-results/screens/recording.png' })
    await page.keyboard.press('?')
    await page.keyboard.type('stop the')
    await page.keyboard.press('Enter')
    await page.getByText('The bath is left as it is.').waitFor()
    await page.getByLabel('Why').fill('long enough')
    await page.screenshot({ path: 'test-results/screens/recording-stop.png' })
    await page.getByRole('button', { name: 'Stop the session' }).click()
    await expect.poll(() => whole.services.station.session, { timeout: 20_000 }).toBeUndefined()
    const [row] = whole.services.store.sessions('', 1)
    expect(row!.info).toMatchObject({ name: 'Cell of March', kind: 'recording', ending: 'stopped-by-person' })
    expect(row!.readings).toBeGreaterThan(4)
  })

  it('takes a table recorded elsewhere, whose columns are given their meaning, in as a session', async () => {
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
    await page.getByRole('heading', { name: 'Import march.csv' }).waitFor({ state: 'detached' })
    expect(
      whole.services.store.sessions('', 5).map(({ info, readings }) => ({ name: info.name, readings })),
    ).toContainEqual({
      name: 'march',
      readings: 2,
    })
  })
})
