import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { pathToFileURL } from 'node:url'
import type { Browser } from 'playwright'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest'
import { ensureDesktop, ensurePage } from '../../main/host/built.ts'
import { launchChromium } from '../browser/chromium.ts'
import { type StandIn, standIn } from './stand-in.ts'

/**
 * The order in which Electron starts a program whose entry is an ES module: evaluate the entry, and only when that has
 * ended say `ready` (Electron's docs, tutorial/esm). An entry that waits for `ready` at its top level never ends.
 */

/** More than the entry's imports take on a busy machine. */
const PATIENCE_MS = 20_000

let browser: Browser
let folder: string
let stand: StandIn

beforeAll(async () => {
  ensurePage()
  ensureDesktop()
  browser = await launchChromium()
}, 120_000)
afterAll(() => browser.close())
beforeEach(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-boot-'))
  vi.stubEnv('XDG_DATA_HOME', folder)
  vi.stubEnv('LOCALAPPDATA', folder)
  vi.stubEnv('HOME', folder)
  stand = await standIn(browser, join(folder, 'user'))
  vi.doMock('electron', () => ({ ...stand.electron }))
})
afterEach(async () => {
  vi.doUnmock('electron')
  vi.unstubAllEnvs()
  vi.resetModules()
  await stand.close()
  rmSync(folder, { recursive: true, force: true })
})

/** Starts a program as Electron does; whether its entry came to an end, and so `ready` was said. */
async function boot(entry: string, patienceMs = PATIENCE_MS): Promise<boolean> {
  const evaluated = import(/* @vite-ignore */ pathToFileURL(entry).href).then(
    () => true,
    (fault: Error) => {
      throw fault
    },
  )
  const ended = await Promise.race([
    evaluated,
    new Promise<boolean>((resolve) => setTimeout(resolve, patienceMs, false)),
  ])
  if (ended) stand.entryEnds()
  return ended
}

describe('the desktop program in the order of Electron', () => {
  it('ends its entry, hears `ready`, opens its window and starts its core', async () => {
    expect(await boot(join(ensureDesktop(), 'main.mjs'))).toBe(true)
    await vi.waitFor(() => expect(stand.seen.windows).toHaveLength(1), { timeout: 10_000 })
    await stand.seen.windows[0]!.ready
    await stand.seen.windows[0]!.webContents.page!.getByRole('navigation').waitFor({ timeout: 30_000 })
    expect(stand.seen.processes).toHaveLength(1)
  }, 60_000)

  it('would be found out if it waited for `ready` at the top level', async () => {
    const planted = join(folder, 'entry.mjs')
    writeFileSync(
      planted,
      `import { app, BrowserWindow } from 'electron'\nawait app.whenReady()\nnew BrowserWindow({})\n`,
    )
    expect(await boot(planted, 3000)).toBe(false)
    expect(stand.seen.windows).toHaveLength(0)
  }, 60_000)

  it('would be found out if it opened a window before `ready`', async () => {
    const planted = join(folder, 'early.mjs')
    writeFileSync(planted, `import { BrowserWindow } from 'electron'\nnew BrowserWindow({})\n`)
    await expect(boot(planted)).rejects.toThrow('only be used after app is ready')
  })
})
