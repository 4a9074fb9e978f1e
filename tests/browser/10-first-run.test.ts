import type { Browser } from 'playwright'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { launchChromium, openWindow, screenshot } from './chromium.ts'
import { go, startLab, startNight } from './first-run.ts'
import { startWholeStation, type WholeStation } from './whole-station.ts'

const NIGHT_MS = 240_000
const SPEED = Number.POSITIVE_INFINITY

describe('first run', () => {
  let browser: Browser
  let station: WholeStation
  beforeAll(async () => {
    browser = await launchChromium()
    station = await startWholeStation(SPEED)
  })
  afterAll(async () => {
    await browser?.close()
    await station?.close()
  })

  it(
    'leads from an empty station over the lab in a box to a signed report, without a manual',
    async () => {
      const { page, complaints } = await openWindow(browser, station.address)
      expect(page.url()).not.toContain('token')
      await page.getByText('There is no bench yet').waitFor()
      await screenshot(page, 'first-run-1-empty')

      await startLab(page)
      await page.getByRole('img', { name: 'Preview of the night' }).waitFor({ timeout: 30_000 })
      await screenshot(page, 'first-run-2-plan')

      await startNight(page, 'A. Newcomer')
      await page.locator('.readout').first().waitFor({ timeout: 60_000 })
      await page.waitForFunction(
        () => /\d/.test(document.querySelector('.readout .digits-strong')?.textContent ?? ''),
        undefined,
        { timeout: 60_000 },
      )
      await screenshot(page, 'first-run-3-watch')

      await go(page, 'Points')
      await page.locator('tbody tr:not(.is-expected-row) .digits').first().waitFor({ timeout: NIGHT_MS })
      await screenshot(page, 'first-run-4-points')
      await page.waitForFunction(() => document.body.textContent?.includes('5 points taken.'), undefined, {
        timeout: NIGHT_MS,
      })
      await page.getByRole('region', { name: 'Coefficients' }).waitFor({ timeout: 30_000 })
      await page.locator('.js-plotly-plot .points').first().waitFor({ state: 'attached', timeout: 30_000 })
      await screenshot(page, 'first-run-5-fits')

      await page.getByRole('button', { name: 'Report', exact: true }).click()
      const paper = page.frameLocator('iframe[title="Report preview"]')
      await expect.poll(() => paper.locator('body').innerText(), { timeout: 30_000 }).toContain('Quennick')
      await screenshot(page, 'first-run-6-report')
      const download = page.waitForEvent('download')
      await page.getByRole('button', { name: 'Save as PDF' }).click()
      expect((await download).suggestedFilename()).toMatch(/\.pdf$/)

      await go(page, 'Register')
      await page.getByRole('button', { name: 'Custodian' }).click()
      const custodian = page.getByRole('dialog', { name: 'Name a custodian' })
      await custodian.getByLabel('Name').fill('A. Newcomer')
      await custodian.getByLabel('Password').fill('still water runs')
      await custodian.getByRole('button', { name: 'Set the password' }).click()
      await page.getByText('Unlocked for this hour').waitFor()

      await go(page, 'Points')
      await page.getByRole('button', { name: 'Sign off' }).click()
      const sign = page.getByRole('alertdialog', { name: 'Sign off the report' })
      await sign.getByLabel('Who signs').fill('A. Newcomer')
      await sign.getByLabel("Custodian's password").fill('still water runs')
      await sign.getByRole('button', { name: 'Sign off' }).click()
      await page.getByText('Signed off by A. Newcomer.').first().waitFor({ timeout: 30_000 })
      await screenshot(page, 'first-run-7-signed')
      expect(complaints).toEqual([])
    },
    NIGHT_MS * 2,
  )
})
