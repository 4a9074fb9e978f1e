import { mkdtempSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Browser, Page } from 'playwright'
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import { runShell, type Shell } from '../../main/desktop/shell.ts'
import { ensurePage } from '../../main/host/built.ts'
import { openSessionFile } from '../../main/store/session-file.ts'
import { launchChromium } from '../browser/chromium.ts'
import { withCore } from './core-client.ts'
import { type StandIn, standIn } from './stand-in.ts'

// The real core and the real window, joined by the shell as on the desktop; only Electron itself is stood in for.

let browser: Browser
let stand: StandIn
let shell: Shell
let folder: string
let page: Page

beforeAll(async () => {
  browser = await launchChromium()
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-whole-'))
  stand = await standIn(browser, folder)
  const starting = runShell(
    stand.electron,
    {
      page: ensurePage(),
      preload: join(folder, 'preload.cjs'),
      core: join(import.meta.dirname, '../../main/desktop/core-process.ts'),
      visa: join(import.meta.dirname, '../../drivers/link/visa-process.ts'),
      icon: join(folder, 'icon.png'),
      station: join(folder, 'station'),
    },
    (words) => process.env.STILLPOINT_TEST_TALK && console.log(words),
  )
  stand.entryEnds()
  shell = (await starting)!
  const window = stand.seen.windows[0]!
  await window.ready
  page = window.webContents.page!
}, 90_000)
afterAll(async () => {
  await stand.close()
  await browser.close()
  rmSync(folder, { recursive: true, force: true })
})

const stateLine = () => page.locator('footer').textContent()

describe('the desktop program as a whole', () => {
  it('shows the places over the message port, and sets up the lab in a box from an empty start', async () => {
    await page.getByRole('navigation').waitFor()
    await page.keyboard.press('1')
    await page
      .getByRole('button', { name: /lab in a box/i })
      .first()
      .click()
    await vi.waitFor(async () => expect(await stateLine()).toMatch(/4 of 4 ready/), { timeout: 20_000 })
  }, 60_000)

  it('goes on after the core is killed: a session that runs is taken up with its gap, in the same window', async () => {
    await page.keyboard.press('Control+k')
    await page.keyboard.press('Escape')
    const station = await page.evaluate(() => document.title)
    expect(station).toContain('Stillpoint')
    await withCore(stand, shell, (core) => core.run.record({ name: 'Recording' }))
    await vi.waitFor(async () => expect(await stateLine()).toMatch(/Session/), { timeout: 20_000 })
    await vi.waitFor(() => expect(stand.seen.blockers.size).toBe(1), { timeout: 10_000 })
    const before = shell.core.pid
    const told = page
      .locator('.state-lost', { hasText: 'is being started again' })
      .waitFor({ timeout: 20_000 })
    process.kill(before!, 'SIGKILL')
    await told
    await vi.waitFor(
      () => {
        expect(shell.core.ready).toBe(true)
        expect(shell.core.pid).not.toBe(before)
      },
      { timeout: 30_000, interval: 100 },
    )
    expect(stand.seen.notices.some(({ body }) => body.includes('gap marked'))).toBe(true)
    await page.locator('.state-lost').waitFor({ state: 'detached', timeout: 20_000 })
    await vi.waitFor(async () => expect(await stateLine()).toMatch(/Session/), { timeout: 20_000 })
    const [session] = readdirSync(join(folder, 'station/sessions')).filter(
      (name) => !/-(wal|shm)$/.test(name),
    )
    const file = openSessionFile(join(folder, 'station/sessions', session!), { mode: 'read' })
    try {
      expect(file.events({ kinds: ['resumed'] })).toHaveLength(1)
      expect(file.info.endedUtcUs).toBeNull()
    } finally {
      file.close()
    }
  }, 90_000)

  it('ends the core when it quits', async () => {
    const child = stand.seen.processes.at(-1)!.child
    await shell.quit()
    expect(child.exitCode).toBe(0)
    await vi.waitFor(() => expect(stand.seen.quits).toBe(1), { timeout: 10_000 })
  }, 30_000)
})
