import type { Browser, Page } from 'playwright'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { launchChromium, type OpenPage, openWindow, screenshot } from './chromium.ts'
import { type RunningFake, startFake } from './fake-station.ts'
import { go } from './first-run.ts'

/** The editors of the bench, the plan and the alarm rules, with what one key takes back. */
describe('the editors of the window', { timeout: 60_000 }, () => {
  let browser: Browser
  let fake: RunningFake
  let open: OpenPage
  beforeAll(async () => {
    browser = await launchChromium()
    fake = await startFake({ scene: 'running', channels: 3, rateHz: 1 })
    open = await openWindow(browser, fake.address)
  })
  afterAll(async () => {
    await browser?.close()
    await fake?.close()
  })
  const said = (page: Page) => page.locator('.said').innerText()
  const choose = async (page: Page, label: string, option: string) => {
    await page.getByRole('button', { name: label }).last().click()
    await page.getByRole('option', { name: option }).click()
  }

  it('Bench: hangs a scanner behind a scanner, measures against a standard, and says where wires contradict', async () => {
    const { page } = open
    await go(page, 'Bench')
    await page.getByRole('button', { name: 'Add an instrument' }).click()
    await page.getByRole('region', { name: 'Instrument New instrument' }).waitFor()
    await choose(page, 'Profile', 'Quennick CS-16 scanner')
    await page.getByRole('button', { name: 'Thermometer 02', exact: true }).click()
    const sheet = page.getByRole('region', { name: 'Channel Thermometer 02' })
    await sheet.getByRole('button', { name: 'Add a scanner behind it' }).click()
    await sheet.getByText('New instrument input 1 → Scanner input 3 → Ratio bridge input 1').waitFor()
    await choose(page, 'Denominator of the ratio (Rs)', 'Standard S1')
    await expect.poll(() => page.locator('.node-standard').innerText()).toContain('denominator of the ratio')
    await sheet.getByLabel('Scanner input').first().fill('1')
    await sheet.getByText('Standard S1 already sits on input 1 of Scanner.').waitFor()
    await screenshot(page, 'editors-bench')
  })

  it('Bench: takes back step by step and says what; after a save, the save', async () => {
    const { page } = open
    await page.keyboard.press('Control+z')
    await expect.poll(() => said(page)).toContain('Taken back: the connection of Thermometer 02.')
    await page.getByRole('button', { name: 'Save the bench' }).click()
    await page.getByText('is saved.').waitFor()
    expect(fake.station.bench?.channels[2]?.route).toHaveLength(2)
    await page.keyboard.press('Control+z')
    await expect.poll(() => said(page)).toContain('Taken back: the save of')
    expect(fake.station.bench?.channels[2]?.route).toHaveLength(1)
    await page.keyboard.press('Control+Shift+z')
    await expect.poll(() => said(page)).toContain('Done again: the save of')
    expect(fake.station.bench?.channels[2]?.reference).toEqual({ kind: 'channel', channel: 'ch-1' })
  })

  it('Bench: looks around, asks who they are when told to, and gives a channel its measuring range', async () => {
    const { page } = open
    await page.getByRole('button', { name: 'Find instruments' }).click()
    const sheet = page.getByRole('region', { name: 'Find instruments' })
    await sheet.getByLabel('Networks to ask').fill('192.0.2')
    expect(await sheet.getByRole('button', { name: 'Look around' }).isDisabled()).toBe(true)
    await sheet.getByLabel('Networks to ask').fill('192.0.2.255')
    await sheet.getByRole('button', { name: 'Look around' }).click()
    await sheet.getByText('Bridge in room 4').waitFor()
    // Nobody was spoken to so far.
    expect(await sheet.getByText('QUENNICK,RB-8,0817,1.3', { exact: true }).count()).toBe(0)
    await sheet.getByRole('button', { name: 'Ask who they are' }).click()
    await sheet.getByRole('button', { name: 'Add 1 instrument' }).waitFor()
    await sheet.getByRole('button', { name: 'Close the search' }).click()
    await page.getByRole('button', { name: 'Thermometer 02', exact: true }).click()
    await choose(page, 'Measuring range', 'automatic')
    await page.keyboard.press('Control+z')
    await expect.poll(() => said(page)).toContain('Taken back: the measuring range of Thermometer 02.')
  })

  it('Bench: enters a thermometer that a list does not have, takes it and is back; or is back without', async () => {
    const { page } = open
    await go(page, 'Bench')
    await page.locator('.node-thermometer').nth(1).click()
    const list = page.getByRole('button', { name: /Thermometer$/ })
    const ask = async () => {
      await list.click()
      await page.getByRole('option', { name: /^New thermometer/ }).click()
      await page.getByRole('heading', { name: 'Register', level: 1 }).waitFor({ state: 'attached' })
    }
    const back = () => page.getByRole('heading', { name: 'Bench', level: 1 }).waitFor({ state: 'attached' })
    await ask()
    await page.getByRole('button', { name: 'Cancel', exact: true }).click()
    await back()
    await ask()
    await page.getByLabel('Name', { exact: true }).fill('Probe of the morning')
    await page.getByLabel('Why this change').fill('came in today')
    await page.getByRole('button', { name: 'Save the record' }).click()
    await back()
    await expect.poll(() => list.textContent()).toContain('Probe of the morning')
    await page.keyboard.press('Control+z')
  })

  it('keeps what is not saved while another place is looked at', async () => {
    const { page } = open
    await page.getByLabel('Name of the bench').fill('Half done')
    await go(page, 'Plan')
    await page.getByLabel('Setpoint 1', { exact: true }).fill('12,5')
    await go(page, 'Bench')
    await page.getByLabel('Name of the bench').waitFor()
    expect(await page.getByLabel('Name of the bench').inputValue()).toBe('Half done')
    await go(page, 'Plan')
    expect(await page.getByLabel('Setpoint 1', { exact: true }).inputValue()).toBe('12,5')
    await page.getByLabel('Setpoint 1', { exact: true }).press('Control+z')
    await expect.poll(() => said(page)).toContain('Taken back: the temperature of setpoint 1.')
    expect(await page.getByLabel('Setpoint 1', { exact: true }).inputValue()).toBe('0')
  })

  it('keeps what is typed in bench, plan and register through a reload, and shows it in another window', async () => {
    const own = await startFake({ scene: 'running', channels: 8 })
    const first = await openWindow(browser, own.address)
    await go(first.page, 'Bench')
    await first.page.getByLabel('Name of the bench').fill('Half typed bench')
    await go(first.page, 'Plan')
    await first.page.getByLabel('Setpoint 1', { exact: true }).fill('12,')
    await go(first.page, 'Register')
    await first.page.getByRole('button', { name: 'New thermometer' }).click()
    await first.page.getByLabel('Name', { exact: true }).fill('Half a name')
    await first.page.getByRole('button', { name: 'Enter a calibration' }).click()
    await first.page.getByLabel('R0 / Ω').fill('100,0')
    // The page goes a moment after the last key.
    await first.page.reload()
    const holds = async (page: Page) => {
      await page.waitForSelector('.state-fact')
      await page.getByText('What you typed is not saved yet.').waitFor()
      expect(await page.getByLabel('Name', { exact: true }).inputValue()).toBe('Half a name')
      expect(await page.getByLabel('R0 / Ω').inputValue()).toBe('100,0')
      await go(page, 'Bench')
      await expect.poll(() => page.getByLabel('Name of the bench').inputValue()).toBe('Half typed bench')
      await go(page, 'Plan')
      await expect.poll(() => page.getByLabel('Setpoint 1', { exact: true }).inputValue()).toBe('12,')
    }
    await holds(first.page)
    const second = await openWindow(browser, own.address)
    await go(second.page, 'Register')
    await second.page.getByRole('button', { name: 'New thermometer' }).click()
    await holds(second.page)
    // Given up, it is gone for good.
    await go(second.page, 'Register')
    await second.page.getByRole('button', { name: 'Cancel' }).click()
    await second.page.getByRole('button', { name: 'New thermometer' }).click()
    expect(await second.page.getByLabel('Name', { exact: true }).inputValue()).toBe('')
    expect([...first.complaints, ...second.complaints]).toEqual([])
    await first.context.close()
    await second.context.close()
    await own.close()
  })

  it('lists in the commands what would be taken back, and takes an alarm rule back', async () => {
    const { page } = open
    await go(page, 'Register')
    await page.getByRole('radio', { name: 'Station' }).click()
    await page.getByRole('button', { name: 'Remove rule 1' }).click()
    await page.keyboard.press('Control+k')
    await page.getByRole('menuitem', { name: 'Undo: the removal of rule 1, a channel is silent' }).click()
    await page.getByRole('button', { name: 'Remove rule 2' }).waitFor()
  })

  it('asks from any place before the night is stopped, with what follows', async () => {
    const { page } = open
    await page.keyboard.press('2')
    await expect.poll(() => page.evaluate(() => document.activeElement?.id)).toBe('place')
    await page.keyboard.press('?')
    await page.keyboard.type('stop the session')
    await page.keyboard.press('Enter')
    const ask = page.getByRole('alertdialog', { name: 'Stop the session' })
    await ask.getByText('the bath goes to its safe setpoint of').waitFor()
    await page.keyboard.press('Escape')
    await expect.poll(() => ask.count()).toBe(0)
    expect(fake.station.running).toBe(true)
    expect(open.complaints).toEqual([])
  })
})
