import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Page } from 'playwright'
import { ensurePage } from '../../main/host/built.ts'
import { openHostedStation } from '../../main/host/open-station.ts'
import { servePage } from '../../main/host/page/server.ts'
import { socketWindows } from '../../main/host/router/index.ts'
import { Services } from '../../main/host/services.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { launchChromium } from '../browser/chromium.ts'
import { buildYears } from '../soak/years.ts'
import type { Row } from './row.ts'

const YEARS = 10
const FIRST_MS = 1000
/** Steps of scrolling after which a list that has not come to its end never will. */
const MOST_STEPS = 600

/** Lists of ten years in Chromium: what shows first, and each scrolled to its end. */
export async function bench(): Promise<Row[]> {
  const given = process.env.STILLPOINT_YEARS
  const place = mkdtempSync(join(tmpdir(), 'stillpoint-years-window-'))
  const folder = given !== undefined && existsSync(given) ? given : join(place, 'years')
  if (folder !== given) buildYears(folder, YEARS, 1)
  const hosted = await openHostedStation({ folder, clock: new RealClock(), clockKind: 'real' })
  const services = new Services(hosted)
  await hosted.station.open()
  const served = await servePage({ folder: ensurePage(), port: 0, ...socketWindows(services) })
  const browser = await launchChromium()
  try {
    const page = await browser.newPage({ viewport: { width: 1280, height: 800 } })
    await page.goto(served.address)
    await page.waitForTimeout(3000)
    const list = (label: string) => `section[aria-label="${label}"]`
    return [
      ...(await look(page, '#archive', '.session-scroll', 'li[data-index]')),
      ...(await look(page, '#register', '.shelf-table', 'tr[data-index]')),
      ...(await look(page, '#register/due', list('Due dates'), 'tr[data-index]')),
      ...(await look(page, '#register/ledger', list('Ledger'), 'tr[data-index]')),
      await first(page, '#register/charts', '.chart-grid > div'),
      await typing(page, '#archive', 'Search sessions'),
      await typing(page, '#register', 'Search thermometers'),
      await scrolling(page, '#archive', '.session-scroll'),
      await scrolling(page, '#register/ledger', list('Ledger')),
    ]
  } finally {
    await browser.close()
    await served.close()
    await services.close()
    await hosted.close()
    rmSync(place, { recursive: true, force: true })
  }
}

async function first(page: Page, hash: string, selector: string): Promise<Row> {
  const from = performance.now()
  await page.evaluate((to) => {
    window.location.hash = to
  }, hash)
  await page.waitForSelector(selector)
  const ms = performance.now() - from
  const goal = `<= ${FIRST_MS} ms`
  return {
    name: `${hash}, first paint`,
    ours: ms,
    other: FIRST_MS,
    unit: 'ms',
    ratio: ms / FIRST_MS,
    goal,
    met: ms <= FIRST_MS,
  }
}

const AT_ONCE_MS = 100

/** The longest time from a letter that was typed to the picture that has it. */
async function typing(page: Page, hash: string, label: string): Promise<Row> {
  await page.evaluate((to) => {
    window.location.hash = to
  }, hash)
  await page.getByLabel(label).first().click()
  await page.evaluate(() => {
    const seen = window as unknown as { longestMs: number }
    seen.longestMs = 0
    addEventListener(
      'keydown',
      () => {
        const from = performance.now()
        requestAnimationFrame(() =>
          requestAnimationFrame(() => {
            seen.longestMs = Math.max(seen.longestMs, performance.now() - from)
          }),
        )
      },
      true,
    )
  })
  await page.keyboard.type('night person 12', { delay: 80 })
  await page.waitForTimeout(500)
  return atOnce(
    `${hash}, typing`,
    await page.evaluate(() => (window as unknown as { longestMs: number }).longestMs),
  )
}

/** The longest time between two pictures while a list is scrolled with the wheel. */
async function scrolling(page: Page, hash: string, host: string): Promise<Row> {
  await page.evaluate((to) => {
    window.location.hash = to
  }, hash)
  await page.locator(host).first().hover()
  await page.evaluate(() => {
    const seen = window as unknown as { longestMs: number }
    seen.longestMs = 0
    let before = performance.now()
    const look = () => {
      const now = performance.now()
      seen.longestMs = Math.max(seen.longestMs, now - before)
      before = now
      requestAnimationFrame(look)
    }
    requestAnimationFrame(look)
  })
  for (let i = 0; i < 60; i += 1) {
    await page.mouse.wheel(0, 900)
    await page.waitForTimeout(30)
  }
  return atOnce(
    `${hash}, scrolling`,
    await page.evaluate(() => (window as unknown as { longestMs: number }).longestMs),
  )
}

const atOnce = (name: string, ms: number): Row => ({
  ...{ name, ours: ms, other: AT_ONCE_MS, unit: 'ms', ratio: ms / AT_ONCE_MS },
  ...{ goal: `<= ${AT_ONCE_MS} ms`, met: ms <= AT_ONCE_MS },
})

/** What shows first, and how many lines there are at the end of the list. */
async function look(page: Page, hash: string, host: string, line: string): Promise<Row[]> {
  const shown = await first(page, hash, `${host} ${line}`)
  const lastLine = () =>
    page.evaluate(
      ([at, of]) => {
        const scrolled = document.querySelector(at!)!
        scrolled.scrollTop = scrolled.scrollHeight
        return Number([...scrolled.querySelectorAll(of!)].at(-1)?.getAttribute('data-index') ?? -1) + 1
      },
      [host, line],
    )
  let lines = 0
  let still = 0
  for (let step = 0; step < MOST_STEPS && still < 20; step += 1) {
    const now = await lastLine()
    still = now > lines ? 0 : still + 1
    lines = Math.max(lines, now)
    await page.waitForTimeout(100)
  }
  const left = await page.getByText('more come when the end is scrolled to').count()
  return [
    shown,
    {
      ...{ name: `${hash}, lines at its end`, ours: lines, other: Number.NaN, unit: '', ratio: Number.NaN },
      ...{ goal: 'none left', met: left === 0 },
    },
  ]
}
