import { AxeBuilder } from '@axe-core/playwright'
import type { Browser } from 'playwright'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { launchChromium, openWindow, screenshot } from './chromium.ts'
import { noteOf, walkToNight, walkToPlan, walkToReport } from './first-run.ts'
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
    'leads from an empty station over the lab in a box to a signed report, by what the window says alone',
    async () => {
      const { page, complaints } = await openWindow(browser, station.address)
      expect(page.url()).not.toContain('token')
      await page.getByText('There is no bench yet').waitFor()
      await screenshot(page, 'first-run-empty')

      await page.getByRole('button', { name: 'Lead me through' }).click()
      await expect.poll(() => noteOf(page).evaluate((note) => note === document.activeElement)).toBe(true)
      expect((await new AxeBuilder({ page }).analyze()).violations.map(({ id }) => id)).toEqual([])
      await page.keyboard.press('Escape')
      await expect.poll(() => noteOf(page).count()).toBe(0)
      await page.keyboard.press('?')
      await page.getByRole('menuitem', { name: 'Take up the first walk again' }).click()

      await walkToPlan(page)
      await walkToNight(page)
      await page.reload()
      await walkToReport(page, NIGHT_MS)
      const paper = page.frameLocator('iframe[title="Report preview"]')
      await expect.poll(() => paper.locator('body').innerText(), { timeout: 30_000 }).toContain('Quennick')
      await screenshot(page, 'first-run-report')
      // Each item's certificate can be looked at as a page as well.
      await page.getByRole('button', { name: 'Page shown' }).click()
      await page
        .getByRole('option', { name: /^Certificate of / })
        .first()
        .click()
      await expect
        .poll(() => paper.locator('body').innerText(), { timeout: 30_000 })
        .toMatch(/\d{4}-0001, version 1/)
      await expect.poll(() => page.locator('iframe.is-old').count(), { timeout: 30_000 }).toBe(0)
      await screenshot(page, 'first-run-certificate')
      const download = page.waitForEvent('download')
      await page.getByRole('button', { name: 'Save the record as PDF' }).click()
      expect((await download).suggestedFilename()).toMatch(/\.pdf$/)

      expect(complaints).toEqual([])
    },
    NIGHT_MS * 2,
  )
})
