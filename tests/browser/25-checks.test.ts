import { mkdirSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { AxeBuilder } from '@axe-core/playwright'
import type { Browser, Locator, Page } from 'playwright'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { utcDay } from '../../app/base/times.ts'
import { recordPractice } from '../../main/host/practice.ts'
import type { Services } from '../../main/host/services.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { fixtureSession } from '../report/session-fixture.ts'
import { launchChromium, type OpenPage, openWindow, screenshot } from './chromium.ts'
import { go } from './first-run.ts'
import { startWholeStation, type WholeStation } from './whole-station.ts'

const SEED = 3
/** What the fixture of this seed calls itself. */
const COMPARISON = 'fixture-5'

/** Sessions as a laboratory would have them: three cells of the lab in a box, and a comparison with its cell before and after. */
async function fillArchive({ store, folder, clock }: Services): Promise<void> {
  const nowUtcUs = clock.now().utcUs
  const { sessions, register } = await recordPractice('cells', {
    seed: SEED,
    folder,
    nowUtcUs,
    cells: ['H2O', 'Ga'],
  })
  for (const entry of register.thermometers) store.saveThermometer(entry, 'test', '')
  for (const id of sessions) {
    const file = openSessionFile(store.sessionPath(id), { mode: 'read' })
    store.registerSession(file)
    file.close()
  }
  const path = store.sessionPath(COMPARISON)
  mkdirSync(dirname(path), { recursive: true })
  const { session } = fixtureSession(path, { seed: 5, setpoints: [0, 50, 100] })
  for (const entry of session.setup.register.thermometers) store.saveThermometer(entry, 'test', '')
  store.registerSession(session)
  session.close()
}

/** Each check of a laboratory once, from the record to the register, by what the window says alone. */
describe('the checks in the Register', { timeout: 120_000 }, () => {
  let browser: Browser
  let station: WholeStation
  let open: OpenPage
  let page: Page
  beforeAll(async () => {
    station = await startWholeStation(1)
    await fillArchive(station.services)
    browser = await launchChromium()
    open = await openWindow(browser, station.address)
    page = open.page
  }, 180_000)
  afterAll(async () => {
    await browser?.close()
    await station?.close()
  })

  const register = () => station.services.store.register()
  const check = (name: RegExp) =>
    page.getByRole('navigation', { name: 'Checks' }).getByRole('button', { name }).click()
  const choose = async (label: string, option: RegExp) => {
    await page
      .getByRole('button', { name: new RegExp(label) })
      .first()
      .click()
    await page.getByRole('option', { name: option }).click()
  }
  const record = async (act: string, why: string) => {
    const panel = page.getByRole('region', { name: 'Into the register' })
    await panel.getByLabel('Why').fill(why)
    await panel.getByRole('button', { name: act }).click()
  }

  const paste = async (label: string, text: string, where: RegExp) => {
    await check(where)
    await page.getByLabel(label, { exact: true }).first().focus()
    await page.evaluate((pasted) => navigator.clipboard.writeText(pasted), text)
    await page.keyboard.press('Control+V')
  }
  /** A part of the page in light, dark and as narrow as a phone. */
  const pictures = async (part: Locator, name: string) => {
    for (const [theme, width] of [
      ['light', 1440],
      ['dark', 1440],
      ['light', 390],
    ] as const) {
      await page.evaluate((t) => document.documentElement.setAttribute('data-theme', t), theme)
      await page.setViewportSize({ width, height: 900 })
      await part.evaluate((element) => element.scrollIntoView({ block: 'start' }))
      await screenshot(page, `${name}-${theme}-${width}`)
    }
    await page.setViewportSize({ width: 1440, height: 900 })
  }

  it('has an address of its own, and tells what to do at the bench with its cautions', async () => {
    await go(page, 'Register')
    await page.getByRole('button', { name: /^(Sign in|Practice)$/ }).click()
    const dialog = page.getByRole('dialog', { name: 'Who works here' })
    await dialog.getByLabel('Name').fill('C. Keeper')
    await dialog.getByLabel('Password').fill('a long enough one')
    await dialog.getByRole('button', { name: 'Enter this person' }).click()
    await page.getByRole('button', { name: 'C. Keeper', exact: true }).waitFor()
    await page.getByRole('radio', { name: 'Checks' }).click()
    await check(/in combinations/)
    expect(await page.evaluate('location.hash')).toBe('#register/checks/networks')
    await page.reload()
    await page.getByRole('heading', { name: 'Bridge, in combinations' }).waitFor()
    await check(/Cells and coefficients/)
    await page.getByText('At the bench, step by step').click()
    await page.getByRole('list', { name: 'Cautions' }).getByText('Furnaces burn').waitFor()
    await page.getByText('At the bench, step by step').click()
  })

  it('takes plateaus of cells into a set, and the coefficients they make into the register', async () => {
    // The window was loaded anew meanwhile, and its person is still signed in.
    await page.getByRole('button', { name: 'C. Keeper', exact: true }).waitFor()
    for (const [session, cell] of [
      [/Water triple point cell/, 'WTP'],
      [/Gallium cell/, 'Ga'],
    ] as const) {
      await choose('Session', session)
      await page.getByLabel('Depth of the element').fill('150 mm')
      await page.getByLabel('Standard uncertainty of the cell').fill('0,1')
      const keep = page.getByRole('button', { name: `Put R(${cell}) into the set` })
      await keep.waitFor()
      await expect.poll(() => page.locator('.result-facts').innerText()).toContain('U = 0.')
      await keep.click()
    }
    const plot = page.getByRole('region', { name: 'The plateau' })
    await plot.getByRole('slider', { name: 'End of the stretch' }).press('ArrowLeft')
    await expect.poll(() => plot.locator('.result-facts').innerText()).toContain('Chosen by hand')
    await plot.getByRole('button', { name: 'Find it again' }).click()
    await expect.poll(() => plot.locator('.result-facts').innerText()).toContain('Melt')
    await page.getByText(/W at gallium is 1\.118\d+; ITS-90 asks for at least 1\.11807/).waitFor()
    await screenshot(page, 'checks-cells')
    await page.getByLabel('Certificate number').fill('QTL-F-1')
    await record('Record the calibration', 'cells of the autumn')
    await page.getByText(/has a new calibration of/).waitFor()
    const kept = register().thermometers.find(({ id }) => id === 'sprt-0212')!
    const [measured] = station.services.store.sessions('Gallium cell', 1)
    const date = utcDay(measured!.info.startedUtcUs)
    expect(kept.calibrations[0]).toMatchObject({ certificate: 'QTL-F-1', atZeroCurrent: true, date })
    expect(kept.calibrations[0]!.note).toMatch(/WTP in session .*; Ga in session/)
  })

  it('checks a bridge by combinations and interchange from a session that the lab in a box recorded', async () => {
    await check(/in combinations/)
    await page.getByRole('button', { name: 'Record a bridge to practise on' }).click()
    await page.getByText('1 session is in the archive to practise on').waitFor({ timeout: 60_000 })
    await page.getByText('Take ratios from a recorded session').click()
    await page.getByRole('button', { name: /Bridge and resistors, practice/ }).waitFor()
    // The check is dated by the session it comes from, whatever stood there.
    await page.getByLabel('Date', { exact: true }).fill('2020-01-01')
    await page.getByRole('button', { name: 'Take every combination of this stretch' }).click()
    const [bridge] = station.services.store.sessions('Bridge and resistors', 1)
    await expect
      .poll(() => page.getByLabel('Date', { exact: true }).inputValue())
      .toBe(utcDay(bridge!.info.startedUtcUs))
    const result = page.getByRole('region', { name: 'What they say of the bridge' })
    await result.getByText('Resistors and terms found by least squares').click()
    await result.getByText('Term in n²').waitFor()
    await result.getByText(/supports a linearity of .* the register states 50 × 10⁻⁹/).waitFor()
    await screenshot(page, 'checks-combinations')
    await record('Record the check', 'yearly')
    await page
      .getByText(/supports a linearity of/)
      .first()
      .waitFor()
    await check(/interchanged/)
    await page.getByText('Take ratios from a recorded session').click()
    await page.getByRole('button', { name: 'Take the mean of this stretch' }).click()
    await result
      .getByRole('status')
      .getByText(/The product n n′ is 1|the product departs from 1/)
      .waitFor()
    await page.getByLabel('Pair, row 2').focus()
    await page.evaluate(() =>
      navigator.clipboard.writeText(
        '50 and 100\t0,5\t1e-9\t2,00000001\t1e-8\n10 and 100\t0,1\t1e-9\t10,0\t1e-7',
      ),
    )
    await page.keyboard.press('Control+V')
    await expect.poll(() => page.getByLabel('Pair, row 3').inputValue()).toBe('10 and 100')
    await paste(
      'Pair, row 1',
      'known half\t0,5\t1e-9\t0,50000001\t5e-9\nknown one\t1\t1e-9\t1,00000002\t5e-9',
      /known ratios/,
    )
    const whole = page.getByRole('region', { name: 'All checks of this bridge together' })
    await whole.getByText('From interchange, known ratios, as they stand in their tables.').waitFor()
    await whole.getByRole('row', { name: /known half/ }).waitFor()
    await pictures(whole, 'checks-whole-bridge')
    await page.getByRole('button', { name: 'Empty the table' }).click()
    await whole.waitFor({ state: 'detached' })
    await check(/interchanged/)
    await record('Record the check', 'yearly')
    await expect
      .poll(() =>
        register()
          .instruments.find(({ id }) => id === 'bridge')
          ?.checks?.map((c) => c.kind),
      )
      .toEqual(['network', 'interchange'])
  })

  it('compares a reference resistor with the better one, and says what was expected of it', async () => {
    await paste(
      'Resistor, row 1',
      'A\tB\t1,00001\t2e-9\nB\tC\t0,999995\t2e-9\nA\tC\t1,000005\t2e-9',
      /Reference resistor/,
    )
    const set = page.getByRole('region', { name: 'Several resistors at once' })
    await set.getByText('No ratio leads from a known resistor to').waitFor()
    const known = set.getByRole('region', { name: 'Known values of the set, one row each' })
    await known.getByLabel('Resistor, row 1').fill('C')
    await known.getByLabel('Value, Ω, row 1').fill('100,00012')
    await known.getByLabel('u, relative, row 1').fill('5e-8')
    await set.getByText(/Chi-squared .* with 1 degree of freedom/).waitFor()
    await pictures(set, 'checks-resistor-set')
    await choose('Resistor that is compared', /^Reference resistor 100 ohm/)
    await choose('Better resistor', /^Best resistor/)
    await page.getByText('Take ratios from a recorded session').click()
    await page.getByRole('button', { name: 'Take the mean of this stretch' }).click()
    const value = page.getByRole('region', { name: 'The value' })
    await value.getByText('of U').first().waitFor()
    await value.getByText('How this came about').click()
    await value.getByText('Temperature correction').waitFor()
    await screenshot(page, 'checks-resistor')
    await page.getByLabel('Certificate number').fill('QTL-R-1')
    await record('Record the comparison', 'once a year')
    await page.getByText(/has a new calibration of/).waitFor()
    const own = register().resistors.find(({ id }) => id === 'resistor-100')!
    expect(own.comparisons).toMatchObject([{ against: 'resistor-100s' }])
    // Of the day on which it was measured, like what it is compared by.
    const [measured] = station.services.store.sessions('Bridge and resistors', 1)
    const date = utcDay(measured!.info.startedUtcUs)
    expect(own.calibrations.at(-1)).toMatchObject({ certificate: 'QTL-R-1', date })
  })

  it('takes R(WTP) of a session into the register, and its chart shows it with a way to the session', async () => {
    await check(/R\(WTP\) from a session/)
    await choose('Session', /2026-03-01/)
    const rows = page.getByRole('region', { name: 'R(WTP) of the session' })
    await rows.getByText('Reference SPRT Q-25').waitFor()
    await record('Take R(WTP) into the register', 'after the comparison')
    await page.getByText('is in the register already').waitFor()
    const own = register().thermometers.find(({ id }) => id === 'ref-25')!
    expect(own.wtpHistory.at(-1)).toMatchObject({ session: COMPARISON })
    await page.getByRole('radio', { name: 'Charts' }).click()
    await page
      .getByRole('button', { name: /^2026-03-01: .* Open its session/ })
      .first()
      .press('Enter')
    // In its record, at the moment when R(0.01 °C) was measured.
    await page.getByRole('heading', { name: 'Archive', level: 1 }).waitFor({ state: 'attached' })
    const [, moment] = /^#archive\/fixture-5\/(\d+)$/.exec(await page.evaluate('location.hash'))!
    const file = openSessionFile(station.services.store.sessionPath(COMPARISON), { mode: 'read' })
    expect(file.points().find(({ startUtcUs }) => startUtcUs === Number(moment))?.kind).toBe('wtp-after')
    file.close()
    await page.getByLabel('Channels at this moment').first().waitFor()
    // A row of what happened leads to its moment in the same way.
    const shown = page.locator('.replay-time time')
    const happened = page.locator('.events-table').getByRole('row').nth(2)
    const when = (await happened.locator('time').getAttribute('title'))!
    const apartMs = async () => Date.parse((await shown.getAttribute('title')) ?? '') - Date.parse(when)
    expect(await apartMs()).not.toBe(0)
    await happened.getByRole('button').press('Enter')
    await expect.poll(apartMs).toBe(0)
    expect(open.complaints).toEqual([])
  })

  it('puts a bridge of the lab in a box on the bench, records it without a plan, and stops', async () => {
    await go(page, 'Register')
    await page.getByRole('radio', { name: 'Checks' }).click()
    await check(/in combinations/)
    await page.getByRole('button', { name: 'Put the bridge on the bench' }).click()
    await page.getByText('The lab in a box is on the bench.').waitFor({ timeout: 30_000 })
    await page.getByRole('button', { name: 'Record without a plan' }).click()
    const ask = page.getByRole('dialog', { name: 'Record without a plan' })
    await ask.getByLabel('Name of the session').fill('Bridge, by hand')
    await ask.getByRole('button', { name: 'Record', exact: true }).click()
    await page.getByRole('heading', { name: 'Watch', level: 1 }).waitFor({ state: 'attached' })
    await go(page, 'Register')
    await page.getByText(/Session "Bridge, by hand", running since/).waitFor()
    await page.getByRole('button', { name: 'Stop the session' }).click()
    const stop = page.getByRole('alertdialog', { name: 'Stop the session' })
    await stop.getByLabel('Why').fill('enough')
    await stop.getByRole('button', { name: 'Stop the session' }).click()
    await page.getByRole('button', { name: 'Record without a plan' }).waitFor()
    const [newest] = station.services.store.sessions('by hand')
    expect(newest?.info).toMatchObject({
      name: 'Bridge, by hand',
      operator: 'C. Keeper',
      kind: 'recording',
    })
  })

  it('reads a digital certificate in: its values with their places, whose signature, and the entry it is of', async () => {
    await page.getByRole('radio', { name: 'Thermometers' }).click()
    const chooser = page.waitForEvent('filechooser')
    await page.getByRole('button', { name: 'Import', exact: true }).click()
    const name = 'dcc_gp_temperatur_resistance_v12.xml'
    await (await chooser).setFiles(join(import.meta.dirname, '../standards/dcc/examples', name))
    const dialog = page.getByRole('dialog', { name: /^Certificate / })
    await dialog.getByText('It bears no signature.').waitFor()
    await dialog.getByRole('gridcell', { name: '100.0225', exact: true }).waitFor()
    await screenshot(page, 'certificate-in')
    const take = dialog.getByRole('button', { name: 'Take it into the register' })
    // Nothing in the register has its serial number: somebody has to say what it is of.
    expect(await take.isDisabled()).toBe(true)
    await dialog.getByRole('button', { name: /Calibration of/ }).click()
    await page.getByRole('option', { name: 'Industrial PRT 1', exact: true }).click()
    await dialog.getByText('The entry chosen has another serial number').waitFor()
    await take.click()
    await dialog.waitFor({ state: 'detached' })
    const taken = register().thermometers.find(({ id }) => id === 'prt-x1')!.calibrations
    expect(taken.find(({ file }) => file !== undefined)).toMatchObject({ laboratory: 'Kalibrierfirma GmbH' })
    expect(station.services.store.ledger({ most: 1 })[0]).toMatchObject({
      who: 'C. Keeper',
      why: expect.stringContaining(name),
    })
  })

  const CELLS = /Cells and/
  const COMBINED = /in combinations/
  for (const [theme, width, height, pages, views] of [
    ['light', 1024, 700, [CELLS, COMBINED, /R\(WTP\)/], ['Ledger', 'Due dates']],
    ['dark', 1440, 900, [/Reference res/], ['Charts']],
  ] as const) {
    it(`has nothing for axe to find, ${theme} at ${width}, and nothing across its width`, async () => {
      await page.setViewportSize({ width, height })
      await page.evaluate(
        (wanted) => localStorage.setItem('stillpoint-window', JSON.stringify({ theme: wanted })),
        theme,
      )
      await page.reload()
      await go(page, 'Register')
      const looked: string[] = []
      const look = async (name: string) => {
        await page.waitForTimeout(300)
        const { violations } = await new AxeBuilder({ page }).analyze()
        looked.push(...violations.map((v) => `${name}: ${v.id} ${v.nodes.map((n) => n.target).join(' ')}`))
        const across = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth)
        if (across > 0) looked.push(`${name} stands ${across} px across`)
        await screenshot(page, `checks-${theme}-${name.replaceAll(/\W+/g, '-').toLowerCase()}`)
      }
      await page.getByRole('radio', { name: 'Checks' }).click()
      for (const name of pages) {
        await check(name)
        await look(name.source)
      }
      for (const view of views) {
        await page.getByRole('radio', { name: view }).click()
        await look(view)
      }
      expect(looked).toEqual([])
    })
  }

  it('lets the station lead through a sequence of cells: which is next in large, how it stands, and the end', async () => {
    await page.getByRole('radio', { name: 'Checks' }).click()
    await check(/Cells and coefficients/)
    await page.getByLabel('Cells in their order').fill('WTP, Sn, WTP')
    const begin = page.getByRole('region', { name: 'Run the sequence' })
    await begin.getByText('The bench has no channel with a resistance thermometer.').waitFor()
    await choose('Cell of the lab', /Water triple point/)
    await page.getByRole('button', { name: 'Put this cell on the bench' }).click()
    await begin.getByRole('button', { name: 'Begin the sequence' }).click({ timeout: 60_000 })
    const asked = page.getByRole('alert', { name: 'The session asks' })
    await asked.getByText('Next: the water triple point cell, step 1 of 3.').waitFor({ timeout: 60_000 })
    const going = page.getByRole('region', { name: 'The running sequence' })
    await going.getByText('Step 1 of 3: WTP').waitFor()
    await asked.getByRole('button', { name: 'It is in the cell' }).click()
    await asked.getByRole('button', { name: 'Take the plateau' }).waitFor({ timeout: 60_000 })
    await pictures(going, 'sequence')
    await asked.getByRole('button', { name: 'Leave this cell out' }).click()
    await going.getByText('Step 2 of 3: Sn').waitFor({ timeout: 60_000 })
    await asked.getByRole('button', { name: 'Stop the sequence' }).click()
    await page.getByRole('alertdialog').getByRole('button', { name: 'Stop the sequence' }).click()
    await going.getByText('The sequence is over').waitFor({ timeout: 60_000 })
  })
})
