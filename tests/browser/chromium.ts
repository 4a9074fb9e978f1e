import { mkdirSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright'
import { findBrowser } from '../prepare-machine.mjs'

const SCREENS = fileURLToPath(new URL('../../test-results/screens/', import.meta.url))

/** The system's Chromium without a window. */
export function launchChromium(): Promise<Browser> {
  const executablePath = findBrowser()
  return chromium.launch({
    ...(executablePath === undefined ? {} : { executablePath }),
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-background-networking',
      '--disable-component-update',
      '--no-first-run',
    ],
  })
}

export interface OpenOptions {
  width?: number
  height?: number
  theme?: 'light' | 'dark'
  /** Device pixels a CSS pixel: 2 for a zoom of 200 %, with half the width and height. */
  scale?: number
}

export interface OpenPage {
  page: Page
  context: BrowserContext
  /** What the page complained of: errors, refused styles and scripts. */
  complaints: string[]
}

/** Opens the window at an address and waits until the station was heard. */
export async function openWindow(
  browser: Browser,
  address: string,
  options: OpenOptions = {},
): Promise<OpenPage> {
  const context = await browser.newContext({
    viewport: { width: options.width ?? 1440, height: options.height ?? 900 },
    colorScheme: options.theme ?? 'light',
    deviceScaleFactor: options.scale ?? 1,
    permissions: ['clipboard-read', 'clipboard-write'],
    acceptDownloads: true,
  })
  const page = await context.newPage()
  const complaints: string[] = []
  page.on('console', (message) => message.type() === 'error' && complaints.push(message.text()))
  page.on('pageerror', (error) => complaints.push(String(error)))
  await page.goto(address)
  await page.waitForSelector('.state-fact', { timeout: 20_000 })
  return { page, context, complaints }
}

/** Keeps a picture among the build's results. */
export async function screenshot(page: Page, name: string): Promise<void> {
  mkdirSync(SCREENS, { recursive: true })
  await page.screenshot({ path: `${SCREENS}${name}.png` })
}
