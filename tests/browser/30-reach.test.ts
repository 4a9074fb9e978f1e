import type { Browser, Page } from 'playwright'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { launchChromium, openWindow, screenshot } from './chromium.ts'
import { type RunningFake, startFake } from './fake-station.ts'
import { go } from './first-run.ts'
import { violations } from './violations.ts'

const PLACES = ['Orders', 'Bench', 'Watch', 'Plan', 'Points', 'Archive', 'Register', 'Wire', 'Laboratory']

/** What cannot be seen whole: numbers over their own words, and tables wider than what they can be scrolled in. */
const hidden = (page: Page) =>
  page.evaluate(() => {
    const meet = (a: DOMRect, b: DOMRect) =>
      Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 &&
      Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1
    /** What is printed of an element: its letters, without the room above and below them. */
    const box = (host: Element, inside: string) => {
      const element = host.querySelector(inside)
      if (!element) return undefined
      const { x, y, width, height } = element.getBoundingClientRect()
      const tall = 0.8 * Number.parseFloat(getComputedStyle(element).fontSize)
      return new DOMRect(x, y + (height - tall) / 2, width, width > 0 ? tall : 0)
    }
    const found: string[] = []
    for (const readout of document.querySelectorAll('.readout, .wall-numbers li')) {
      const number = box(readout, '.digits')
      if (!number) continue
      for (const words of ['.readout-name', '.wall-name', '.readout-role', '.water-word']) {
        const other = box(readout, words)
        if (other && meet(number, other)) found.push(`a number over ${words}: ${readout.textContent}`)
      }
      if (number.right > readout.getBoundingClientRect().right + 1) found.push(`cut: ${readout.textContent}`)
    }
    for (const table of document.querySelectorAll('table')) {
      let host = table.parentElement
      while (host && host.clientWidth >= table.offsetWidth - 1 && host !== document.body)
        host = host.parentElement
      if (host && host !== document.body && !/auto|scroll/.test(getComputedStyle(host).overflowX))
        found.push(`a table is cut by ${host.className || host.tagName}`)
    }
    return found
  })

/** What stands across the page's width. */
const overflow = (page: Page) => page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth)

/** What shows last where a place asks the station for much. */
const LAST_SHOWN: Record<string, string> = {
  Points: 'text=Unfold the budget',
  Archive: '.study-plot .main-svg',
}

/** Waits until a place is fetched and has its content, then lets it be painted. */
async function shown(page: Page, place: string, channels = 8): Promise<void> {
  await page.getByRole('heading', { name: place, level: 1 }).waitFor({ state: 'attached' })
  await page.locator('.curtain').waitFor({ state: 'detached' })
  // A reference alone has nothing fitted to it.
  const last = channels > 1 ? LAST_SHOWN[place] : undefined
  if (last !== undefined) await page.locator(last).first().waitFor({ timeout: 15_000 })
  await page.waitForTimeout(250)
}

/** Two frames: one to lay out anew, one to paint it. */
const laidOut = (page: Page) =>
  page.evaluate(() => new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve))))

describe('the reach of the window', { timeout: 180_000 }, () => {
  let browser: Browser
  const fakes: RunningFake[] = []
  const fakeOf = async (options: Parameters<typeof startFake>[0]) => {
    const fake = await startFake(options)
    fakes.push(fake)
    return fake
  }
  beforeAll(async () => {
    browser = await launchChromium()
  })
  afterAll(async () => {
    await browser?.close()
    for (const fake of fakes) await fake.close()
  })

  for (const theme of ['light', 'dark'] as const) {
    it(`has nothing for axe to find in any place, ${theme}`, async () => {
      const fake = await fakeOf({ scene: theme === 'dark' ? 'fault' : 'running', channels: 8 })
      const { page, context } = await openWindow(browser, fake.address, { theme })
      for (const place of PLACES) {
        await go(page, place)
        await shown(page, place)
        await screenshot(page, `${theme}-${place.toLowerCase()}`)
        expect(await violations(page), `${place}, ${theme}`).toEqual([])
      }
      await go(page, 'Register')
      await page.getByRole('radio', { name: 'Station' }).click()
      for (const part of ['Alarm rules', 'Programs', 'Validation'])
        await page.getByRole('region', { name: part }).waitFor()
      await screenshot(page, `${theme}-station`)
      expect(await violations(page), `station, ${theme}`).toEqual([])
      await page.keyboard.press('2')
      await page.keyboard.press('w')
      await page.waitForTimeout(500)
      await screenshot(page, `${theme}-wall`)
      expect(await violations(page), `wall view, ${theme}`).toEqual([])
      await page.keyboard.press('Escape')
      await page.keyboard.press('?')
      await page.getByRole('dialog', { name: 'Commands' }).waitFor()
      await screenshot(page, `${theme}-commands`)
      expect(await violations(page), `commands, ${theme}`).toEqual([])
      await context.close()
    })
  }

  it('teaches at every empty place, and axe agrees', async () => {
    const fake = await fakeOf({ scene: 'empty' })
    const { page, context } = await openWindow(browser, fake.address, { width: 1024, height: 700 })
    for (const place of PLACES) {
      await go(page, place)
      // An order needs no bench: its empty place leads to the first order.
      const first = place === 'Orders' ? 'New order' : 'Try it on the lab in a box'
      // Nothing is to be done where a laboratory has one bench: it says what others would need.
      if (place === 'Laboratory') await page.getByText('A laboratory of one bench').waitFor()
      else await page.getByRole('button', { name: first }).waitFor()
      await screenshot(page, `empty-${place.toLowerCase()}`)
      expect(await violations(page), place).toEqual([])
    }
    await context.close()
  })

  // A page at 200 % has half as many pixels of its own each way.
  const SIZES = {
    narrow: { width: 1024, height: 700 },
    zoomed: { width: 512, height: 350 },
    'four-k': { width: 3840, height: 2160 },
  }

  for (const channels of [1, 8, 96]) {
    it(`fits a narrow, a zoomed and a 4K screen in every place with ${channels} channels`, async () => {
      const fake = await fakeOf({ scene: 'running', channels })
      const { page, context } = await openWindow(browser, fake.address, SIZES['four-k'])
      for (const place of PLACES) {
        if (channels !== 8 && place !== 'Watch' && place !== 'Bench' && place !== 'Points') continue
        await page.setViewportSize(SIZES['four-k'])
        await go(page, place)
        await shown(page, place, channels)
        for (const [name, size] of Object.entries(SIZES)) {
          await page.setViewportSize(size)
          await laidOut(page)
          await screenshot(page, `${name}-${channels}-${place.toLowerCase()}`)
          expect(await overflow(page), `${place} with ${channels} channels, ${name}`).toBeLessThanOrEqual(0)
          expect(await hidden(page), `${place} with ${channels} channels, ${name}`).toEqual([])
        }
      }
      await context.close()
    })
  }

  it('keeps names of 200 characters, of whatever script, off the numbers and within the page', async () => {
    const fake = await fakeOf({ scene: 'running', channels: 8 })
    const long = ['W', 'a word ', 'حرارة ', '温度', '🌡️', 'a̐é'].map((part) => part.repeat(200).slice(0, 200))
    const { bench, register } = fake.station
    for (const [i, name] of long.entries()) {
      bench!.channels[i]!.name = name
      register.thermometers[i]!.name = name
    }
    bench!.name = long[0]!
    fake.station.sessionName = long[3]!
    const { page, context } = await openWindow(browser, fake.address, SIZES.narrow)
    for (const place of ['Watch', 'Bench', 'Points', 'Archive', 'Register', 'the wall']) {
      if (place === 'the wall') {
        await go(page, 'Watch')
        await page.keyboard.press('w')
        await page.locator('.wall-name').first().waitFor()
      } else {
        await go(page, place)
        await shown(page, place)
      }
      await laidOut(page)
      await screenshot(page, `long-${place.toLowerCase().replace(' ', '-')}`)
      expect(await overflow(page), place).toBeLessThanOrEqual(0)
      expect(await hidden(page), place).toEqual([])
      // Nothing of a long name lies outside what shows it.
      const beyond = await page.evaluate(() =>
        [...document.querySelectorAll('.place article, .place figure, .pick button')]
          .filter((part) => part.getBoundingClientRect().right > window.innerWidth + 1)
          .map((part) => part.className || part.tagName),
      )
      expect(beyond, place).toEqual([])
    }
    await context.close()
  })

  it('is watched and answered on a phone held upright', async () => {
    const fake = await fakeOf({ scene: 'fault', channels: 8, rateHz: 2 })
    const { page, context } = await openWindow(browser, fake.address, { width: 390, height: 844 })
    const inView = async (what: ReturnType<typeof page.locator>) => {
      const box = (await what.boundingBox())!
      return box.x >= 0 && box.x + box.width <= 390 && box.y >= 0 && box.y + box.height <= 844
    }
    const places = page.locator('.rail-place')
    for (let i = 0; i < (await places.count()); i++) expect(await inView(places.nth(i))).toBe(true)
    const alarm = page.getByRole('alert').first()
    await alarm.getByText('has been silent').waitFor()
    const seen = alarm.getByRole('button', { name: 'Acknowledge' })
    expect(await inView(seen)).toBe(true)
    // As high as a finger is wide.
    expect((await seen.boundingBox())!.height).toBeGreaterThanOrEqual(40)
    await page.screenshot({ path: 'test-results/screens/phone.png' })
    await seen.click()
    await expect.poll(() => page.getByRole('alert').count()).toBe(0)
    await page.locator('.readout-number').first().waitFor()
    expect(await overflow(page), 'Watch on a phone').toBeLessThanOrEqual(0)
    // Its plot begins on the first screen.
    const plot = (await page.locator('.uplot').first().boundingBox())!
    expect(plot.y).toBeLessThan(844)
    await page.getByRole('button', { name: 'Wall view' }).click()
    await page.getByRole('button', { name: 'Wall view' }).waitFor({ state: 'detached' })
    await laidOut(page)
    await page.screenshot({ path: 'test-results/screens/phone-wall.png' })
    expect(await overflow(page), 'the wall on a phone').toBeLessThanOrEqual(0)
    await page.keyboard.press('Escape')
    for (const place of ['Plan', 'Wire']) {
      await go(page, place)
      await shown(page, place)
      await page.screenshot({ path: `test-results/screens/phone-${place.toLowerCase()}.png` })
      expect(await overflow(page), `${place} on a phone`).toBeLessThanOrEqual(0)
    }
    await context.close()
  })

  it('is worked by the keyboard alone, from an empty station to a running night', async () => {
    const fake = await fakeOf({ scene: 'empty', speed: 60 })
    const { page, context } = await openWindow(browser, fake.address)
    const focused = () => page.evaluate(() => (document.activeElement as HTMLElement | null)?.innerText ?? '')
    const tabTo = async (words: string) => {
      for (let i = 0; i < 80; i++) {
        if ((await focused()).trim() === words) return
        await page.keyboard.press('Tab')
      }
      throw new Error(`The keyboard does not reach "${words}".`)
    }
    await tabTo('Try it on the lab in a box')
    await page.keyboard.press('Enter')
    await page.getByRole('heading', { name: 'Plan', level: 1 }).waitFor({ state: 'attached' })
    await page.getByText('Accept this warning').waitFor()
    for (let i = 0; i < 120; i++) {
      const type = await page.evaluate(() => {
        const at = document.activeElement as HTMLInputElement | null
        return at?.closest('.check') ? at.type : ''
      })
      if (type === 'checkbox') break
      await page.keyboard.press('Tab')
    }
    await page.keyboard.press('Space')
    await tabTo('Start the night')
    await page.keyboard.press('Enter')
    await page.getByRole('alertdialog').waitFor()
    await tabTo('Start')
    await page.keyboard.press('Enter')
    await page.locator('.readout').first().waitFor()
    await page.keyboard.press('4')
    await page.getByRole('heading', { name: 'Points', level: 1 }).waitFor({ state: 'attached' })
    await page.keyboard.press('Escape')
    await page.getByRole('heading', { name: 'Watch', level: 1 }).waitFor({ state: 'attached' })
    await page.keyboard.press('Control+k')
    await page.keyboard.type('dark')
    await page.keyboard.press('Enter')
    await expect.poll(() => page.evaluate(() => document.documentElement.dataset.theme)).toBe('dark')
    await context.close()
  })
})
