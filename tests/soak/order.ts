import { type ChildProcess, spawn } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import type { Locator, Page } from 'playwright'
import { ensurePage } from '../../main/host/built.ts'
import { openHostedStation } from '../../main/host/open-station.ts'
import { servePage } from '../../main/host/page/server.ts'
import { socketWindows } from '../../main/host/router/index.ts'
import { Services } from '../../main/host/services.ts'
import { ScaledClock } from '../../main/station/clocks/scaled.ts'
import { launchChromium, openWindow, screenshot } from '../browser/chromium.ts'

/**
 * Two orders of two customers from an empty station to signed certificates, by the window's visible labels alone, against
 * a lab in a box that runs as a process of its own. Counts every click and every field that it takes.
 */

const MOST_CLICKS = 45
const MOST_FIELDS = 60
const PASSWORD = 'a password of the proof'
const WHO = 'A. Person'
const NIGHT_MS = 20 * 60_000

/** A person at the window: presses what a label names, types into what a label names, and counts. */
class Hand {
  clicks = 0
  fields = 0
  readonly page: Page

  constructor(page: Page) {
    this.page = page
  }

  async press(what: Locator, patienceMs = 20_000): Promise<void> {
    await what.first().waitFor({ timeout: patienceMs })
    await what.first().click({ timeout: patienceMs })
    this.clicks += 1
  }

  button(name: string | RegExp, within: Page | Locator = this.page): Promise<void> {
    return this.press(within.getByRole('button', { name, exact: typeof name === 'string' }))
  }

  async type(label: string, text: string, within: Page | Locator = this.page): Promise<void> {
    await within.getByLabel(label, { exact: true }).first().fill(text)
    this.fields += 1
  }

  async choose(label: string, option: string): Promise<void> {
    await this.button(new RegExp(` ${label}$|^${label}$`))
    await this.press(this.page.getByRole('option', { name: option }))
  }

  place(name: string): Promise<void> {
    return this.press(
      this.page.getByRole('navigation', { name: 'Places' }).getByRole('button', { name, exact: false }),
    )
  }

  /** A part of the job sheet. */
  async section(name: string): Promise<void> {
    const head = this.page.locator('.job-section > h2 > button').filter({ hasText: name }).first()
    await head.waitFor()
    // The sheet unfolds what is next by itself.
    if ((await head.getAttribute('aria-expanded')) !== 'true') await this.press(head)
  }
}

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

/** Runs the whole way; true where both certificates were signed within the counts. */
export async function orderProof(speed: number, say: (line: string) => void = console.log): Promise<boolean> {
  const lab = await startLabProcess(speed)
  const folder = mkdtempSync(join(tmpdir(), 'stillpoint-order-'))
  const registerFile = join(folder, 'register.json')
  writeFileSync(registerFile, JSON.stringify(lab.register))
  const clock = new ScaledClock(speed)
  const hosted = await openHostedStation({ folder: join(folder, 'data'), clock, clockKind: 'scaled' })
  const services = new Services(hosted)
  await hosted.station.open()
  const served = await servePage({ folder: ensurePage(), port: 0, ...socketWindows(services) })
  const browser = await launchChromium()
  try {
    const { page, complaints } = await openWindow(browser, served.address)
    const hand = new Hand(page)
    try {
      await walk(hand, registerFile, lab.ports)
    } catch (fault) {
      await screenshot(page, 'order-proof-stopped')
      throw fault
    }
    const sessions = hosted.store.sessions()
    const certificates = await services.reports.ask().certificates(sessions[0]!.info.id)
    for (const { name, serial, number, signed } of certificates)
      say(`  ${name} ${serial}: ${signed ? `signed, ${number}` : 'not signed'}`)
    const signed = certificates.length === 2 && certificates.every((c) => c.signed)
    say(`${hand.clicks} clicks (at most ${MOST_CLICKS}), ${hand.fields} fields (at most ${MOST_FIELDS})`)
    for (const words of complaints) say(`  the page complained: ${words}`)
    return signed && hand.clicks <= MOST_CLICKS && hand.fields <= MOST_FIELDS && complaints.length === 0
  } finally {
    await browser.close()
    await served.close()
    await services.close()
    await hosted.close()
    lab.child.removeAllListeners('exit')
    lab.child.kill()
    rmSync(folder, { recursive: true, force: true })
  }
}

async function walk(hand: Hand, registerFile: string, ports: readonly number[]): Promise<void> {
  const { page } = hand
  const look = (name: string) => screenshot(page, `order-proof-${name}`)
  // Two customers come to the counter.
  await hand.place('Orders')
  await hand.button('New order')
  await orderAtTheCounter(hand, 'Bramblewick Dairy', '1 Churn Yard, Bramblewick', '88112')
  await look('first-order')
  await hand.button('New order')
  await hand.choose('Customer', 'New customer')
  await orderAtTheCounter(hand, 'Harrow Fell Instruments', 'Mill Row 2, Harrow Fell', '90417')
  // The laboratory's own records, from a file.
  await hand.place('Register')
  await hand.button('Custodian')
  await hand.type('Name', WHO)
  await hand.type('Password', PASSWORD)
  await hand.button('Set the password')
  await page.getByText('Unlocked for this hour').waitFor()
  const [chooser] = await Promise.all([page.waitForEvent('filechooser'), hand.button('Import')])
  await chooser.setFiles(registerFile)
  await page.getByText(/taken in/).waitFor()
  await hand.press(page.getByRole('radio', { name: 'Station' }))
  await hand.type('Name of the laboratory', 'Quennick Temperature Laboratory')
  await hand.type('Address', 'Tidewater Lane 4')
  await hand.button('Save the settings')
  await look('register')
  // The bench.
  await hand.place('Bench')
  await hand.button('Set up your bench')
  await hand.type('Ports to search', ports.join(', '))
  await hand.button('Search')
  await hand.button(/^Add \d+ instrument/)
  await hand.button('Add a channel')
  await hand.button('Add a channel')
  await hand.button('Add a channel')
  await hand.button('Add the bath')
  await hand.type('Uniformity, standard uncertainty', '1.5')
  await hand.type('Stability, standard uncertainty', '0.5')
  await hand.button('Save the bench')
  await page.getByRole('region', { name: 'The look at the bench' }).waitFor({ timeout: 60_000 })
  await look('bench')
  // The night.
  await hand.place('Orders')
  await hand.section('Plan')
  await hand.button('Fill the bath')
  await hand.press(page.getByText('Quick look', { exact: true }))
  await page.getByText('Ends about').first().waitFor({ timeout: 60_000 })
  await look('plan')
  for (const box of await page.getByText(/^Accept th(is|ese)/).all()) await hand.press(box)
  await hand.button('Start the night')
  const start = page.getByRole('alertdialog', { name: 'Start the night' })
  await hand.type('Who is at the bench', WHO, start)
  await hand.button('Start', start)
  await page.getByRole('button', { name: 'See the certificates' }).waitFor({ timeout: NIGHT_MS })
  await look('ended')
  await hand.button('See the certificates')
  await hand.button('Sign off')
  const sign = page.getByRole('alertdialog', { name: 'Sign off the report' })
  await sign.waitFor()
  await hand.type('Who signs', WHO, sign)
  await hand.type("Custodian's password", PASSWORD, sign)
  await page.waitForTimeout(2000)
  for (const box of await sign.getByText('None', { exact: true }).all()) await hand.press(box)
  for (const box of await sign.getByText(/^Sign all the same/).all()) await hand.press(box)
  await look('signing')
  await hand.button('Sign off', sign)
  await sign.waitFor({ state: 'detached', timeout: 60_000 })
  await look('signed')
}

async function orderAtTheCounter(hand: Hand, name: string, address: string, serial: string): Promise<void> {
  await hand.type('Name of the customer', name)
  await hand.type('Address of the customer', address)
  await hand.type('Serial number of item 1', serial)
  await hand.type('From, item 1', '20')
  await hand.type('To, item 1', '60')
  await hand.type('Points of item 1', '20 40 60')
  await hand.button('Save the order')
  await hand.page.getByText('is stored with 1 item').first().waitFor()
}
