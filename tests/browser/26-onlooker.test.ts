import type { Browser } from 'playwright'
import { afterAll, beforeAll, expect, it } from 'vitest'
import { launchChromium, openWindow } from './chromium.ts'
import { type RunningFake, startFake } from './fake-station.ts'
import { go } from './first-run.ts'

let browser: Browser
let fake: RunningFake
beforeAll(async () => {
  browser = await launchChromium()
  fake = await startFake({ scene: 'running', onlooker: true, person: null })
})
afterAll(async () => {
  await browser?.close()
  await fake?.close()
})

it('offers an onlooker nothing that would be refused: no hands on a night, no bench to save, no record to edit', async () => {
  const { page } = await openWindow(browser, fake.address)
  await go(page, 'Watch')
  await page.locator('.readout .digits-strong').first().waitFor()
  const names = async () => (await page.getByRole('button').allInnerTexts()).map((text) => text.trim())
  const hands = /^(Pause|Go on|Take the point now|Skip this setpoint|Write a note|Stop|Acknowledge)$/
  expect((await names()).filter((name) => hands.test(name))).toEqual([])
  await go(page, 'Bench')
  await page.getByText('Name of the bench').waitFor()
  expect((await names()).filter((name) => /^(Save|Add|New|Open the|Close the|Find)/.test(name))).toEqual([])
  await go(page, 'Register')
  await page.getByRole('row').nth(1).click()
  await page.getByRole('article').waitFor()
  expect((await names()).filter((name) => /^(Edit|New|Import|Enter|Out of use$)/.test(name))).toEqual([])
}, 60_000)
