// Draws icon.png from the window's own icon: node main/desktop/resources/draw-icon.mjs
import { readFile } from 'node:fs/promises'
import { join } from 'node:path'
import { chromium } from 'playwright'

const here = import.meta.dirname
/** The builder makes every other size from this one. */
const SIZE = 512

const svg = await readFile(join(here, '../../../renderer/public/icon.svg'), 'utf8')
const browser = await chromium.launch({
  // A path in CHROMIUM, or the browser that Playwright brings.
  ...(process.env.CHROMIUM ? { executablePath: process.env.CHROMIUM } : {}),
  args: process.getuid?.() === 0 ? ['--no-sandbox'] : [],
})
const page = await browser.newPage({ viewport: { width: SIZE, height: SIZE } })
await page.setContent(`<style>body{margin:0}svg{display:block;width:100vw}</style>${svg}`)
await page.screenshot({ path: join(here, 'icon.png'), omitBackground: true })
await browser.close()
