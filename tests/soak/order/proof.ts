import { type ChildProcess, spawn } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import type { Browser } from 'playwright'
import { ensurePage } from '../../../main/host/built.ts'
import { openHostedStation } from '../../../main/host/open-station.ts'
import { servePage } from '../../../main/host/page/server.ts'
import { socketWindows } from '../../../main/host/router/index.ts'
import { Services } from '../../../main/host/services.ts'
import { ScaledClock } from '../../../main/station/clocks/scaled.ts'
import { launchChromium, openWindow, screenshot } from '../../browser/chromium.ts'
import { type Hand, KeyHand, MouseHand } from './hands.ts'

/**
 * Two orders of two customers from an empty station to signed certificates, by the window's visible labels alone, against
 * a lab in a box that runs as a process of its own. Counts every click and every field that it takes.
 */

const MOST_CLICKS = 45
const MOST_FIELDS = 60
const PASSWORD = 'a password of the proof'
const WHO = 'A. Person'
const NIGHT_MS = 20 * 60_000
const MOST_SEARCHES = 4

interface LabProcess {
  child: ChildProcess
  ports: number[]
  register: unknown
}

function startLabProcess(speed: number): Promise<LabProcess> {
  const child = spawn(
    process.execPath,
    ['main/host/stillpoint.mjs', 'lab', '--ports', '0', '--speed', String(speed), '--json'],
    { stdio: ['ignore', 'pipe', 'inherit'] },
  )
  return new Promise((resolve, reject) => {
    child.once('exit', (code) => reject(new Error(`the lab ended with ${code}`)))
    createInterface(child.stdout!).once('line', (line) => {
      const { endpoints, paperwork } = JSON.parse(line) as {
        endpoints: { link: { port: number } }[]
        paperwork: { thermometers: { kind: string; calibrations: unknown[] }[] }
      }
      // The laboratory's own records; what customers send, nobody knows yet.
      const own = paperwork.thermometers.filter((t) => t.kind === 'sprt' && t.calibrations.length > 0)
      resolve({
        child,
        ports: endpoints.map(({ link }) => link.port),
        register: { ...paperwork, thermometers: own.slice(0, 1) },
      })
    })
  })
}

/** Runs the whole way with the mouse and then by keyboard alone; true where both ways ended within the counts. */
export async function orderProof(speed: number, say: (line: string) => void = console.log): Promise<boolean> {
  const browser = await launchChromium()
  try {
    const mouse = await oneWay(browser, 'mouse', speed, say)
    const keys = await oneWay(browser, 'keyboard', speed, say)
    return mouse && keys
  } finally {
    await browser.close()
  }
}

async function oneWay(
  browser: Browser,
  by: 'mouse' | 'keyboard',
  speed: number,
  say: (line: string) => void,
): Promise<boolean> {
  const lab = await startLabProcess(speed)
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-order-'))
  const registerFile = join(folder, 'register.json')
  writeFileSync(registerFile, JSON.stringify(lab.register))
  const clock = new ScaledClock(speed)
  const hosted = await openHostedStation({ folder: join(folder, 'data'), clock, clockKind: 'scaled' })
  const services = new Services(hosted)
  await hosted.station.open()
  const served = await servePage({ folder: ensurePage(), port: 0, ...socketWindows(services) })
  const { page, context, complaints } = await openWindow(browser, served.address)
  const hand = by === 'mouse' ? new MouseHand(page) : new KeyHand(page)
  try {
    await walk(hand, registerFile, lab.ports, (name) => screenshot(page, `order-${by}-${name}`))
    const [session] = hosted.store.sessions()
    const certificates = await services.reports.ask().certificates(session!.info.id)
    say(`By ${by}:`)
    for (const { name, serial, number, signed } of certificates)
      say(`  ${name} ${serial}: ${signed ? `signed, ${number}` : 'not signed'}`)
    say(
      `  ${hand.clicks} clicks (at most ${MOST_CLICKS}), ${hand.fields} fields (at most ${MOST_FIELDS})${hand instanceof KeyHand ? `, ${hand.stops} stops of Tab` : ''}`,
    )
    for (const words of new Set(complaints)) say(`  the page complained: ${words}`)
    return (
      certificates.length === 2 &&
      certificates.every(({ signed }) => signed) &&
      hand.clicks <= MOST_CLICKS &&
      hand.fields <= MOST_FIELDS &&
      complaints.length === 0
    )
  } catch (fault) {
    await screenshot(page, `order-${by}-stopped`)
    say(`By ${by}: stopped after ${hand.clicks} clicks and ${hand.fields} fields.`)
    throw fault
  } finally {
    await context.close()
    await served.close()
    await services.close()
    await hosted.close()
    lab.child.removeAllListeners('exit')
    lab.child.kill()
    rmSync(folder, { recursive: true, force: true })
  }
}

type Look = (name: string) => Promise<void>

async function walk(hand: Hand, registerFile: string, ports: readonly number[], look: Look): Promise<void> {
  const { page } = hand
  const button = (name: string | RegExp) =>
    hand.press(page.getByRole('button', { name, exact: typeof name === 'string' }))
  const type = (label: string, text: string) => hand.fill(page.getByLabel(label, { exact: true }), text)
  // Two customers come to the counter.
  await hand.place('Orders')
  await button('New order')
  await orderAtTheCounter(hand, 'Bramblewick Dairy', '1 Churn Yard, Bramblewick', '88112')
  // Whoever saves first is asked for a name.
  await type('Name', WHO)
  await type('Password', PASSWORD)
  await button('Enter this person')
  await page.getByText('is stored with 1 item').first().waitFor()
  await look('first-order')
  await button('New order')
  await hand.choose(page.getByRole('button', { name: /Customer$/ }), 'New customer')
  await orderAtTheCounter(hand, 'Harrow Fell Instruments', 'Mill Row 2, Harrow Fell', '90417')
  await page.getByText('Order 2026-002 is stored with 1 item').first().waitFor()
  // The laboratory's own records, from a file.
  await hand.place('Register')
  const [chooser] = await Promise.all([page.waitForEvent('filechooser'), button('Import')])
  await chooser.setFiles(registerFile)
  await page.getByText(/taken in/).waitFor()
  await hand.oneOf(page.getByRole('radiogroup', { name: 'Shelf' }), 'Station')
  await type('Name of the laboratory', 'Quennick Temperature Laboratory')
  await type('Address', 'Tidewater Lane 4')
  await button('Save the settings')
  await look('register')
  // The bench.
  await hand.place('Bench')
  await button('Set up your bench')
  await type('Ports to search', ports.join(', '))
  // On a busy machine one or the other may miss the deadlines of a clock that runs so much faster: a person who knows what
  // stands on the bench searches again.
  const nothing = page.getByText(/^Nothing answered/)
  const found = page.getByRole('button', { name: /^Add \d+ instrument/ })
  let answered = 0
  for (let search = 0; search < MOST_SEARCHES && answered < ports.length; search++) {
    await button('Search')
    await page.getByRole('button', { name: 'Searching' }).first().waitFor({ timeout: 10_000 })
    await page
      .getByRole('button', { name: 'Searching' })
      .first()
      .waitFor({ state: 'detached', timeout: 60_000 })
    await nothing.or(found).first().waitFor({ timeout: 60_000 })
    answered = (await found.isVisible()) ? Number(/\d+/.exec((await found.textContent()) ?? '')?.[0]) : 0
  }
  await button(/^Add \d+ instrument/)
  for (let channel = 0; channel < 3; channel++) await button('Add a channel')
  await button('Add the bath')
  await type('Uniformity, standard uncertainty', '1.5')
  await type('Stability, standard uncertainty', '0.5')
  await button('Save the bench')
  await page.getByRole('region', { name: 'The look at the bench' }).waitFor({ timeout: 60_000 })
  await look('bench')
  // The night.
  await hand.place('Orders')
  await section(hand, 'Plan')
  await button('Fill the bath')
  await hand.press(page.getByRole('radio', { name: 'Quick look' }))
  // Nobody stands by with a cell tonight: reading R(0.01 °C) is left out, which the report will remark.
  await hand.press(page.getByRole('checkbox', { name: /^Read R at the water triple point/ }))
  await page.getByText('Ends about').first().waitFor({ timeout: 60_000 })
  await look('plan')
  const accept = page.getByRole('checkbox', { name: /^Accept th(is|ese)/ })
  for (let left = await accept.count(); left > 0; left--) await hand.press(accept.nth(left - 1))
  await button('Start the night')
  const start = page.getByRole('alertdialog', { name: 'Start the night' })
  await hand.press(start.getByRole('button', { name: 'Start', exact: true }))
  const after = page.getByRole('button', { name: 'See the certificates' })
  await after.waitFor({ timeout: NIGHT_MS })
  await look('ended')
  await hand.press(after)
  await button('Sign off')
  const sign = page.getByRole('alertdialog', { name: 'Sign off the report' })
  await sign.getByRole('checkbox').first().waitFor()
  await hand.fill(sign.getByLabel('Your password, once more'), PASSWORD)
  await sign.getByText('Looking at the chain').waitFor({ state: 'detached', timeout: 120_000 })
  const boxes = sign.getByRole('checkbox')
  for (let n = 0; n < (await boxes.count()); n++) await hand.press(boxes.nth(n))
  await look('signing')
  await hand.press(sign.getByRole('button', { name: 'Sign off', exact: true }))
  await sign.waitFor({ state: 'detached', timeout: 60_000 })
  await look('signed')
}

/** Opens a part of the job sheet, where the sheet has not unfolded it by itself. */
async function section(hand: Hand, name: string): Promise<void> {
  const head = hand.page.locator('.job-section > h2 > button').filter({ hasText: name }).first()
  // The sheet unfolds what is next by itself, as soon as it knows.
  await hand.page.locator('.job-section > h2 > button[aria-expanded=true]').first().waitFor()
  if ((await head.getAttribute('aria-expanded')) !== 'true') await hand.press(head)
}

async function orderAtTheCounter(hand: Hand, name: string, address: string, serial: string): Promise<void> {
  const type = (label: string, text: string) => hand.fill(hand.page.getByLabel(label, { exact: true }), text)
  await type('Name of the customer', name)
  await type('Address of the customer', address)
  await type('Serial number of item 1', serial)
  await type('From, item 1', '20')
  await type('To, item 1', '60')
  await type('Points of item 1', '20 40 60')
  await hand.press(hand.page.getByRole('button', { name: 'Save the order', exact: true }))
}
