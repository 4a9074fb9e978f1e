import type { Browser, Page } from 'playwright'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { launchChromium, openWindow, screenshot } from './chromium.ts'
import { type RunningFake, startFake } from './fake-station.ts'
import { go } from './first-run.ts'
import { violations } from './violations.ts'

type Opening = readonly [name: string, role: 'dialog' | 'alertdialog', open: (page: Page) => Promise<void>]

const press = (page: Page, name: string | RegExp) => page.getByRole('button', { name }).first().click()
async function command(page: Page, words: string): Promise<void> {
  await page.keyboard.press('Control+k')
  await page.getByRole('menuitem', { name: words }).click()
}

/** Every question of a window while a night runs, and how a person comes to it. */
const WHILE_RUNNING: readonly Opening[] = [
  ['Glossary', 'dialog', (page) => command(page, 'Glossary')],
  [
    'Six in the morning',
    'dialog',
    async (page) => {
      await go(page, 'Watch')
      await press(page, /Guide/)
    },
  ],
  ['Stop the session', 'alertdialog', (page) => command(page, 'Stop the session')],
  ['Take the point now', 'dialog', (page) => command(page, 'Take the point now')],
  ['Skip this setpoint', 'dialog', (page) => command(page, 'Skip this setpoint')],
  ['Write a note', 'dialog', (page) => command(page, 'Write a note')],
  ['Sign in', 'dialog', (page) => command(page, 'Sign in')],
  ['Change the password', 'dialog', (page) => command(page, 'Change the password')],
  [
    'Sign off the report',
    'alertdialog',
    async (page) => {
      await go(page, 'Points')
      await press(page, 'Report')
      await press(page, 'Sign off')
    },
  ],
  [
    'Enter a person',
    'dialog',
    async (page) => {
      await go(page, 'Register')
      await page.getByRole('radio', { name: 'Station' }).click()
      await press(page, 'Enter a person')
    },
  ],
  [
    'Annotate this session',
    'dialog',
    async (page) => {
      await go(page, 'Archive')
      await press(page, 'Annotate')
    },
  ],
]

const WHILE_IDLE: readonly Opening[] = [
  ['Record without a plan', 'dialog', (page) => command(page, 'Record without a plan')],
  [
    'Start the lab in a box',
    'dialog',
    async (page) => {
      await go(page, 'Bench')
      await press(page, 'Lab in a box')
    },
  ],
  [
    'Start the night',
    'alertdialog',
    async (page) => {
      await go(page, 'Plan')
      await page.getByText('Ends about').first().waitFor()
      for (const box of await page.getByText(/^Accept th/).all()) await box.click()
      await press(page, 'Start the night')
    },
  ],
]

/** Forms that have no dialog of their own. */
const FORMS: readonly Opening[] = [
  [
    'New order',
    'dialog',
    async (page) => {
      await go(page, 'Orders')
      await press(page, 'New order')
      await page.getByLabel('Serial number of item 1').waitFor()
    },
  ],
  [
    'New thermometer',
    'dialog',
    async (page) => {
      await go(page, 'Register')
      await page.getByRole('radio', { name: 'Thermometers' }).click()
      await press(page, 'New thermometer')
      await press(page, 'Enter a calibration')
    },
  ],
  [
    'Channel of the bench',
    'dialog',
    async (page) => {
      await go(page, 'Bench')
      await page.locator('.node-thermometer').first().click()
      await page.getByLabel('Measuring current').waitFor()
    },
  ],
]

describe('every question and form of the window', { timeout: 120_000 }, () => {
  let browser: Browser
  const fakes: RunningFake[] = []
  beforeAll(async () => {
    browser = await launchChromium()
  })
  afterAll(async () => {
    await browser?.close()
    for (const fake of fakes) await fake.close()
  })

  for (const theme of ['light', 'dark'] as const)
    for (const [scene, openings] of [
      ['running', WHILE_RUNNING],
      ['ready', WHILE_IDLE],
      ['forms', FORMS],
    ] as const)
      it(`has nothing for axe to find, ${scene}, ${theme}`, async () => {
        const fake = await startFake({ scene: scene === 'forms' ? 'running' : scene, channels: 4 })
        fakes.push(fake)
        const { page, context, complaints } = await openWindow(browser, fake.address, { theme })
        for (const [name, role, open] of openings) {
          await open(page)
          const question = page.getByRole(role, { name })
          if (scene !== 'forms') await question.waitFor()
          await screenshot(page, `${theme}-${name.toLowerCase().replaceAll(' ', '-')}`)
          // The other theme is the same page in other colours.
          const rules = theme === 'dark' ? ['color-contrast'] : undefined
          expect(await violations(page, rules), `${name}, ${theme}`).toEqual([])
          if (scene === 'forms') continue
          await page.keyboard.press('Escape')
          await question.waitFor({ state: 'detached' })
        }
        expect(complaints).toEqual([])
        await context.close()
      })
})
