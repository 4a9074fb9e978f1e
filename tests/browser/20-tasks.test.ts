import type { Browser } from 'playwright'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { launchChromium, type OpenPage, openWindow } from './chromium.ts'
import { type RunningFake, startFake } from './fake-station.ts'
import { go } from './first-run.ts'

/** Each task of the job once, on a station whose night is a formula of time. */
describe('the tasks of the window', { timeout: 90_000 }, () => {
  let browser: Browser
  let fake: RunningFake
  let open: OpenPage
  beforeAll(async () => {
    browser = await launchChromium()
    fake = await startFake({ scene: 'running', channels: 8, rateHz: 2 })
    open = await openWindow(browser, fake.address)
  })
  afterAll(async () => {
    await browser?.close()
    await fake?.close()
  })

  it('Watch: shows a number with as many strong digits as its uncertainty deserves', async () => {
    const { page } = open
    const first = page.locator('.readout').first()
    await expect.poll(() => first.locator('.digits-strong').innerText()).toMatch(/^\d+\.\d{3}$/)
    expect(await first.locator('.digits-weak').innerText()).toMatch(/^\d/)
    await page.keyboard.press('u')
    await expect.poll(() => first.innerText()).toContain('k = 2')
    await page.keyboard.press('u')
  })

  it('Watch: changes the quantity, takes differences, holds, measures a stretch and follows again', async () => {
    const { page } = open
    await page.getByRole('radio', { name: 'Resistance' }).click()
    await expect.poll(() => page.locator('.readout').first().innerText()).toContain('Ω')
    await page.getByRole('radio', { name: 'Temperature' }).click()
    await page.getByRole('button', { name: 'Difference from' }).click()
    await page.getByRole('option', { name: 'Less Standard S1' }).click()
    await expect
      .poll(() => page.locator('.readout').nth(1).locator('.digits-strong').innerText())
      .toMatch(/^.?\d{1,2}$/)
    await expect.poll(() => page.locator('.readout').nth(1).innerText()).toContain('mK')
    await page.getByRole('button', { name: 'Difference from' }).click()
    await page.getByRole('option', { name: 'No difference' }).click()
    await page.getByRole('button', { name: 'Statistics of this view' }).click()
    await page.getByRole('region', { name: 'Statistics table' }).getByText('Thermometer 03').waitFor()
    await page.getByRole('button', { name: 'Hold still' }).click()
    await page.getByRole('button', { name: 'Follow again' }).waitFor()
    await page.keyboard.press('Escape')
    await page.getByRole('button', { name: 'Hold still' }).waitFor()
    await page.keyboard.press('Escape')
    await expect.poll(() => page.getByRole('region', { name: 'Statistics table' }).count()).toBe(0)
  })

  it('Watch: goes to a moment of the night from the strip, and to the wall view and back', async () => {
    const { page } = open
    const strip = page.getByRole('slider', { name: 'Night strip' })
    const box = (await strip.boundingBox())!
    await strip.click({ position: { x: box.width * 0.2, y: 20 } })
    await page.getByRole('button', { name: 'Follow again' }).click()
    await page.getByRole('button', { name: 'Wall view' }).click()
    await page.getByRole('heading', { name: 'Wall view' }).waitFor({ state: 'attached' })
    await expect.poll(() => page.locator('.wall-numbers .digits-strong').first().innerText()).toMatch(/\d/)
    await page.keyboard.press('Escape')
    await page.locator('.readout').first().waitFor()
  })

  it('Watch: unfolds a number to its inputs and each of those again', async () => {
    const { page } = open
    await page.locator('.readout-number').first().click()
    const thread = page.getByRole('complementary', { name: 'How this number came about' })
    await thread.getByText('t90 = f(W), W = R / R(WTP)').waitFor()
    await thread.getByRole('button', { name: /138\.5123/ }).click()
    await thread.getByRole('button', { name: 'One number back' }).waitFor()
    await page.keyboard.press('Escape')
    await page.keyboard.press('Escape')
    await expect.poll(() => thread.count()).toBe(0)
  })

  it('Plan: takes a pasted column, commas, an even spread, and every step back', async () => {
    const { page } = open
    await go(page, 'Plan')
    await page.getByRole('button', { name: 'New plan' }).click()
    await page.getByLabel('Name of the plan').fill('Pasted')
    await page.getByLabel('Setpoint 1', { exact: true }).click()
    await page.evaluate(() => navigator.clipboard.writeText('0\tup\n49,5\tup\n99.9 °C\tup\n'))
    await page.keyboard.press('Control+V')
    await expect.poll(() => page.getByLabel('Setpoint 3', { exact: true }).inputValue()).toBe('99.9 °C')
    await page.getByText('Ends about').waitFor()
    await page.getByText('Spread evenly').click()
    await page.getByLabel('How many').fill('3')
    await page.getByRole('button', { name: 'Replace the setpoints' }).click()
    await expect.poll(() => page.getByLabel('Setpoint 5', { exact: true }).inputValue()).toBe('0')
    await page.getByRole('button', { name: 'Undo', exact: true }).click()
    await expect.poll(() => page.getByLabel('Setpoint 2', { exact: true }).inputValue()).toBe('49,5')
    await page.getByText('Careful', { exact: true }).click()
    await page.getByRole('button', { name: 'Save', exact: true }).click()
    await page.getByText('Pasted is saved.').waitFor()
    expect(fake.station.plans.at(-1)?.setpoints.map((s) => s.celsius)).toEqual([0, 49.5, 99.9])
    expect(fake.station.plans.at(-1)?.settling.driftMkPerMin).toBe(0.2)
    // Enter in the last setpoint goes on in a new one below.
    await page.getByLabel('Setpoint 3', { exact: true }).press('Enter')
    await page.keyboard.type('26')
    await page.keyboard.press('Enter')
    await page.keyboard.type('28')
    const typed = [4, 5].map((n) => page.getByLabel(`Setpoint ${n}`, { exact: true }).inputValue())
    expect(await Promise.all(typed)).toEqual(['26', '28'])
    const undo = page.getByRole('button', { name: 'Undo', exact: true })
    for (let i = 0; i < 4; i++) await undo.click()
    await expect.poll(() => page.getByLabel('Setpoint 4', { exact: true }).count()).toBe(0)
  })

  it('Plan: says with a remedy why a setpoint beyond the bath is refused', async () => {
    const { page } = open
    await page.getByLabel('Setpoint 3', { exact: true }).fill('250')
    await page.getByText("250 °C lies outside the bath's limits").waitFor()
    await page.getByText('Change the setpoint, or the limits of the bath on the bench.').waitFor()
    await page.getByRole('button', { name: 'Undo', exact: true }).click()
  })

  it('Plan: pauses at once, goes on, takes a point now and writes a note', async () => {
    const { page } = open
    const because = async (button: string, act: string, label = 'Why') => {
      await page.getByRole('button', { name: button }).click()
      const ask = page.getByRole('dialog')
      await ask.getByLabel(label).fill('to see that it works')
      await ask.getByRole('button', { name: act }).click()
      await expect.poll(() => page.getByRole('dialog').count()).toBe(0)
    }
    // A pause heats and loses nothing: it is taken at once.
    await page.getByRole('button', { name: 'Pause' }).click()
    await page.getByRole('button', { name: 'Go on' }).click()
    await because('Take the point now', 'Take it now')
    await because('Write a note', 'Keep the note', 'Note')
    expect(fake.station.events.map((e) => e.words)).toContain('Point taken now: to see that it works')
  })

  it('Points: fills the table, unfolds a budget, leaves a point out and takes it back', async () => {
    const { page } = open
    await go(page, 'Points')
    await page.getByRole('region', { name: 'Table of points' }).getByText('still to come').first().waitFor()
    await page
      .getByRole('button', { name: /^Unfold the budget/ })
      .first()
      .click()
    await page.getByText('Bath, uniformity').waitFor()
    await page.getByRole('button', { name: 'Leave out point 1' }).click()
    const ask = page.getByRole('dialog')
    await ask.getByLabel('Why').fill('the lid was open')
    await ask.getByRole('button', { name: 'Leave it out' }).click()
    await page.getByRole('button', { name: 'Take back point 1' }).click()
    await ask.getByLabel('Why').fill('it was not')
    await ask.getByRole('button', { name: 'Take it back' }).click()
    await page.getByRole('button', { name: 'Leave out point 1' }).waitFor()
  })

  it('Points: walks a table by keys, copies a range with its units, and a number with its uncertainty', async () => {
    const { page } = open
    const clipboard = () => page.evaluate(() => navigator.clipboard.readText())
    const focus = () =>
      page.evaluate(() => (document.activeElement as HTMLElement | null)?.dataset.cell ?? 'elsewhere')
    // Each channel comes in its own unit; here it is the signal that is wanted.
    await page.getByRole('columnheader', { name: 'Standard S1 / °C' }).waitFor()
    await page.getByRole('button', { name: /Show in the table/ }).click()
    await page.getByRole('option', { name: /^Signal/ }).click()
    await page.getByRole('grid', { name: 'Table of points' }).locator('[data-cell="0.1"]').click()
    await page.keyboard.press('Shift+ArrowRight')
    await page.keyboard.press('Shift+ArrowRight')
    await page.keyboard.press('Control+C')
    await expect
      .poll(clipboard)
      .toMatch(/^Setpoint \/ °C\tTaken\tStandard S1 \/ Ω\n0\t\d{4}-.*Z\t100\.\d{9,}$/)
    await page.keyboard.press('ArrowRight')
    await page.keyboard.press('c')
    await expect
      .poll(clipboard)
      .toMatch(/^100\.\d{3}\u2009.* Ω ± [\d.]+ (mΩ|µΩ) \(scatter of the readings alone, k = 2\)$/)
    await page.keyboard.press('Shift+C')
    await expect
      .poll(clipboard)
      .toMatch(/^100\.\d{9,} ohm \+\/- \d.* ohm \(k=2, scatter of the readings alone\)$/)
    await page.keyboard.press('ArrowUp')
    await page.keyboard.press('Enter')
    await page.keyboard.press('Enter')
    expect(await page.locator('[aria-sort="descending"]').innerText()).toMatch(/^Thermometer 01/)
    expect(await focus()).toBe('-1.4')
    await page.keyboard.press('Tab')
    expect(await focus()).toBe('elsewhere')
  })

  it('Bench: adds an instrument, finds what answers, tries it, and goes back', async () => {
    const { page } = open
    await go(page, 'Bench')
    await page.getByRole('button', { name: 'Add an instrument' }).click()
    await page.getByRole('button', { name: 'Search this host' }).click()
    await page.getByRole('button', { name: 'Take this one' }).click()
    await page.getByRole('button', { name: 'Try it' }).click()
    await page.getByText('This instrument has no keep-warm current.').waitFor()
    await page.getByRole('button', { name: 'Thermometer 02', exact: true }).last().click()
    await page.getByRole('button', { name: 'Which resistor suits?' }).click()
    await page.getByRole('button', { name: 'Take Resistor 100 Ω' }).waitFor()
    for (let i = 0; i < 3; i++) {
      const undo = page.getByRole('button', { name: 'Undo', exact: true })
      if (await undo.isEnabled()) await undo.click()
    }
    await expect.poll(() => page.getByRole('button', { name: /New instrument/ }).count()).toBe(0)
  })

  it('Register: asks who it is before a change, enters a calibration with commas, and catches a slipped digit', async () => {
    const { page } = open
    await go(page, 'Register')
    fake.station.person = null
    fake.station.password = null
    await page.reload()
    await go(page, 'Register')
    await page.getByRole('button', { name: /Thermometer 05/ }).click()
    await page.getByRole('button', { name: 'Edit' }).click()
    await page.getByRole('button', { name: 'Enter a calibration' }).click()
    const entry = page.getByRole('region', { name: 'New calibration' })
    await entry.getByLabel('Certificate', { exact: true }).fill('Q-26-555')
    await entry.getByLabel('R0 / Ω').fill('100,0031')
    await entry.getByLabel('A', { exact: true }).fill('3,9803e-3')
    await entry.getByLabel('B', { exact: true }).fill('-5,775e-7')
    await page.getByText('Look for a misplaced digit.').waitFor()
    await entry.getByLabel('A', { exact: true }).fill('3,9083e-3')
    await page.getByText('W at gallium').waitFor()
    await page.getByLabel('Why this change').fill('new certificate')
    await page.getByRole('button', { name: 'Save the record' }).click()
    const dialog = page.getByRole('dialog', { name: 'Who works here' })
    await dialog.getByLabel('Name').fill('C. Keeper')
    await dialog.getByLabel('Password').fill('long enough to keep')
    await dialog.getByRole('button', { name: 'Enter this person' }).click()
    await page.getByText('Q-26-555').first().waitFor()
    const saved = fake.station.register.thermometers.find((t) => t.name === 'Thermometer 05')
    expect(saved?.calibrations.at(-1)?.conversion).toMatchObject({ r0: '100.0031', a: '3.9083e-3' })
    await page.getByRole('radio', { name: 'Ledger' }).click()
    await page.getByText('C. Keeper').first().waitFor()
  })

  it('Register: takes a thermometer out of use with a reason, and brings it back', async () => {
    const { page } = open
    await go(page, 'Register')
    await page.getByRole('radio', { name: 'Thermometers' }).click()
    await page.getByRole('button', { name: /Thermometer 05/ }).click()
    const ask = async (press: string, act: string) => {
      await page.getByRole('button', { name: press, exact: true }).click()
      const dialog = page.getByRole('dialog', { name: /Thermometer 05/ })
      expect(await dialog.getByRole('button', { name: act }).isDisabled()).toBe(true)
      await dialog.getByLabel('Why').fill('its sheath is bent')
      await dialog.getByRole('button', { name: act }).click()
    }
    await ask('Take out of use', 'Take it out')
    await expect.poll(() => page.locator('.shelf-table').getByText('Thermometer 05').count()).toBe(0)
    await page.getByText('Out of use', { exact: true }).click()
    await page.locator('.shelf-table').getByText('Thermometer 05').waitFor()
    await page.screenshot({ path: 'test-results/screens/out-of-use.png' })
    await ask('Bring back', 'Bring it back')
    await page.getByText('No thermometer is out of use.').waitFor()
    await page.getByText('Out of use', { exact: true }).click()
    await page.locator('.shelf-table').getByText('Thermometer 05').waitFor()
    expect(fake.station.retired.size).toBe(0)
  })

  it('Register: leaves what takes a save back in reach, however long the name that was saved', async () => {
    const { page } = open
    await go(page, 'Register')
    await page.getByRole('radio', { name: 'Thermometers' }).click()
    await page.getByRole('button', { name: /Thermometer 05/ }).click()
    await page.getByRole('button', { name: 'Edit' }).click()
    const name = 'W'.repeat(200)
    await page.getByLabel('Name', { exact: true }).fill(name)
    await page.getByLabel('Why this change').fill('its maker writes it so')
    await page.getByRole('button', { name: 'Save the record' }).click()
    const back = page.locator('.said').getByRole('button', { name: 'Take it back' })
    await back.waitFor()
    const { x, width } = (await back.boundingBox())!
    expect([x > 0, x + width < page.viewportSize()!.width]).toEqual([true, true])
    await page.screenshot({ path: 'test-results/screens/long-name.png' })
    await back.click()
    const ask = page.getByRole('dialog')
    await ask.getByLabel('Why').fill('too long')
    await ask.getByRole('button', { name: 'Take it back' }).click()
    await page.locator('.said').getByText('The record stands again').waitFor()
    // A made-up station takes nothing back by itself.
    fake.station.register.thermometers.find((t) => t.name === name)!.name = 'Thermometer 05'
    fake.station.versions.register++
  })

  it('Archive: opens, verifies, compares, replays and exports a past session', async () => {
    const { page } = open
    await go(page, 'Archive')
    await page.getByRole('button', { name: /Night run of last week, 2/ }).click()
    await page.getByRole('button', { name: 'Verify' }).click()
    await page.getByText('Every reading is as it was written').waitFor()
    await page.getByRole('button', { name: 'Compare with' }).click()
    await page.getByRole('option', { name: /today/ }).click()
    await page.getByText('1 of 3 numbers differs.').waitFor()
    await page.getByRole('button', { name: 'Correct this session' }).click()
    await page.getByRole('alertdialog').getByText('99.99 Ω became').waitFor()
    await page.getByLabel('Why').fill('the certificate was misread')
    await page.screenshot({ path: 'test-results/screens/correct.png' })
    await page.getByRole('button', { name: 'Correct it' }).click()
    await page.getByText('are those of now').waitFor()
    await page.getByRole('button', { name: 'Replay', exact: true }).click()
    await page.getByRole('button', { name: 'Start the replay' }).click()
    const channels = page.getByRole('region', { name: 'Channels at this moment' })
    await channels.locator('.digits-strong').first().waitFor()
    await page.getByRole('button', { name: 'Stop the replay' }).click()
    await page.getByRole('button', { name: 'Next reading' }).waitFor()
    await page.getByRole('radio', { name: 'Table' }).click()
    const sessions = page.getByRole('grid', { name: 'Table of sessions' })
    await sessions.getByRole('button', { name: 'Points', exact: true }).click()
    await expect.poll(() => sessions.locator('[aria-sort="ascending"]').innerText()).toBe('Points')
    await page.getByRole('radio', { name: 'Pictures' }).click()
    const download = page.waitForEvent('download')
    await page.getByRole('button', { name: 'Export' }).click()
    expect((await download).suggestedFilename()).toMatch(/\.csv$/)
  })

  it('Wire: shows the traffic, filters it, and refuses a line into a session until it is meant', async () => {
    const { page } = open
    await go(page, 'Wire')
    await page.locator('.wire-line').first().waitFor()
    await page.getByLabel('Show lines with').fill('scanner')
    await expect
      .poll(() => page.locator('.wire-line').allInnerTexts())
      .toSatisfy((lines: string[]) => lines.length > 0 && lines.every((line) => line.includes('Scanner')))
    await page.getByLabel('Show lines with').fill('')
    await page.getByRole('button', { name: /Link/ }).click()
    await page.getByRole('option', { name: /Ratio bridge/ }).click()
    await page.getByLabel('Line to Ratio bridge').fill('*IDN?')
    await page.keyboard.press('Enter')
    await page.getByText('Typing into it can disturb a reading.').waitFor()
    await page.getByText('Send although a session runs').click()
    await page.getByRole('button', { name: 'Send', exact: true }).click()
    await expect.poll(() => page.getByLabel('Line to Ratio bridge').inputValue()).toBe('')
    await page.getByLabel('Line to Ratio bridge').press('ArrowUp')
    await expect.poll(() => page.getByLabel('Line to Ratio bridge').inputValue()).toBe('*IDN?')
  })

  it('goes back and forward through its places as a browser does', async () => {
    const { page } = open
    const at = (place: string) =>
      page.getByRole('heading', { name: place, level: 1 }).waitFor({ state: 'attached' })
    await go(page, 'Plan')
    await go(page, 'Wire')
    await at('Wire')
    await page.goBack()
    await at('Plan')
    await page.goForward()
    await at('Wire')
  })

  it('stops the night only after saying what follows', async () => {
    const { page } = open
    await go(page, 'Plan')
    await page.getByRole('button', { name: 'Stop', exact: true }).click()
    const ask = page.getByRole('alertdialog', { name: 'Stop the session' })
    await ask.getByText('the bath goes to its safe setpoint').waitFor()
    // A stop wants no words first: its reason may follow.
    await ask.getByRole('button', { name: 'Stop the session' }).click()
    await page.getByRole('button', { name: 'Start the night' }).waitFor()
  })

  it('Watch: leads on from a session that has ended, to its points, its certificates and the next one', async () => {
    const { page } = open
    const way = (name: string) => page.getByRole('button', { name, exact: true })
    await go(page, 'Watch')
    for (const name of ['Plan the next night', 'Record without a plan']) await way(name).waitFor()
    await way('See the points').click()
    await page.getByRole('heading', { name: 'Points', level: 1 }).waitFor({ state: 'attached' })
    await go(page, 'Watch')
    await way('See the certificates').click()
    await page.getByRole('region', { name: 'Report' }).waitFor()
  })

  it('Bench: connects and reads what was saved at once, where nothing runs', async () => {
    const { page } = open
    await go(page, 'Bench')
    await page.getByLabel('Name of the bench').fill('Quennick bench, by the window')
    await page.getByRole('button', { name: 'Save the bench' }).click()
    await page.getByText('Connected.').first().waitFor()
    expect(fake.station.looks).toBe(1)
  })

  it('complained of nothing on the way', () => {
    expect(open.complaints).toEqual([])
  })
})
