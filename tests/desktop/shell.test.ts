import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Browser, Page } from 'playwright'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest'
import { ORIGIN } from '../../main/desktop/policy.ts'
import { runShell, type Shell } from '../../main/desktop/shell.ts'
import { launchChromium } from './chromium.ts'
import { type StandIn, type StandInWindow, standIn } from './stand-in.ts'

// A page as small as the core beside it: shows what came from the core.
const PAGE = `<!doctype html><html lang="en"><title>Stillpoint</title><body><p id="heard"></p><script src="/page.js"></script></body></html>`
const SCRIPT = `
let port
window.addEventListener('message', (event) => {
  if (event.data !== 'stillpoint-port') return
  port = event.ports[0]
  port.onmessage = (sent) => { document.querySelector('#heard').textContent = sent.data }
  port.postMessage('hello')
})
window.ask = (text) => port.postMessage(text)
window.postMessage('stillpoint-ask-port', window.location.origin)
try { new Function('return 1')(); window.evalRan = true } catch { window.evalRan = false }
`

let browser: Browser
let folder: string
let stand: StandIn
let shell: Shell
const said: string[] = []

const window = (): StandInWindow => stand.seen.windows.at(-1)!
const page = (): Page => window().webContents.page!
const heard = () => page().textContent('#heard')
const ask = (text: string) =>
  page().evaluate((line) => (globalThis as unknown as { ask(line: string): void }).ask(line), text)
const corePid = async () => Number((await heard())?.match(/core (\d+)/)?.[1])

async function start(options: { lock?: boolean } = {}): Promise<Shell | undefined> {
  stand = await standIn(browser, join(folder, 'data'), options)
  const started = await runShell(
    stand.electron,
    {
      page: join(folder, 'page'),
      preload: join(folder, 'preload.cjs'),
      core: join(import.meta.dirname, 'small-core.mjs'),
      icon: join(folder, 'icon.png'),
    },
    (words) => said.push(words),
  )
  if (started) {
    shell = started
    await window().ready
    await vi.waitFor(async () => expect(await heard()).toContain('heard hello'), { timeout: 10_000 })
  }
  return started
}

beforeAll(async () => {
  browser = await launchChromium()
})
afterAll(() => browser.close())
beforeEach(() => {
  said.length = 0
  folder = mkdtempSync(join(tmpdir(), 'stillpoint-shell-'))
  mkdirSync(join(folder, 'page'))
  writeFileSync(join(folder, 'page/index.html'), PAGE)
  writeFileSync(join(folder, 'page/page.js'), SCRIPT)
})
afterEach(async () => {
  await stand.close()
  rmSync(folder, { recursive: true, force: true })
})

describe('runShell', () => {
  it('opens one sandboxed window on the built page and joins it to the core', async () => {
    await start()
    const { webPreferences } = window().options
    expect(stand.seen.sandboxed).toBe(true)
    expect(webPreferences).toMatchObject({
      sandbox: true,
      contextIsolation: true,
      nodeIntegration: false,
      nodeIntegrationInWorker: false,
      nodeIntegrationInSubFrames: false,
      webSecurity: true,
      allowRunningInsecureContent: false,
      experimentalFeatures: false,
      webviewTag: false,
    })
    expect(webPreferences).not.toHaveProperty('enableBlinkFeatures')
    expect(window().visible).toBe(true)
    expect(await heard()).toMatch(/core \d+ heard hello/)
  })

  it('runs no code from text in the window', async () => {
    await start()
    expect(await page().evaluate(() => (globalThis as unknown as { evalRan: boolean }).evalRan)).toBe(false)
  })

  it('gives way to an instance that is there already', async () => {
    expect(await start({ lock: false })).toBeUndefined()
    expect(stand.seen.quits).toBe(1)
    expect(stand.seen.windows).toHaveLength(0)
    expect(stand.seen.processes).toHaveLength(0)
  })

  it('brings the window forward when a second instance is started', async () => {
    await start()
    window().hide()
    stand.emitApp('second-instance')
    expect(window().visible).toBe(true)
    expect(stand.seen.windows).toHaveLength(1)
  })

  it('starts a crashed core again, says so, and gives the same window a new port', async () => {
    await start()
    const before = await corePid()
    await ask('crash')
    await vi.waitFor(async () => expect(await corePid()).not.toBe(before), { timeout: 10_000 })
    expect(stand.seen.processes).toHaveLength(2)
    expect(stand.seen.notices[0]?.body).toContain('the session goes on with the gap marked')
  })

  it('keeps the core when the page crashes, and opens the page again', async () => {
    await start()
    const before = await corePid()
    window().webContents.emit('render-process-gone', {}, { reason: 'crashed' })
    expect(window().webContents.reloads).toBe(1)
    await window().ready
    await vi.waitFor(async () => expect(await corePid()).toBe(before), { timeout: 10_000 })
    expect(stand.seen.processes).toHaveLength(1)
  })

  it('closes at once while no session runs', async () => {
    await start()
    expect(await window().close()).toBe(true)
    stand.emitApp('window-all-closed')
    await vi.waitFor(() => expect(stand.seen.quits).toBe(1))
    expect(stand.seen.dialogs).toHaveLength(0)
  })

  it('asks before closing while a session runs, and keeps running in the background when told so', async () => {
    await start()
    await ask('run')
    await vi.waitFor(() => expect(stand.seen.blockers.size).toBe(1))
    stand.answers.push(0)
    expect(await window().close()).toBe(false)
    await vi.waitFor(() => expect(window().visible).toBe(false))
    expect(stand.seen.dialogs).toHaveLength(1)
    expect(shell.core.pid).toBeDefined()
    await ask('end')
    await vi.waitFor(() => expect(stand.seen.blockers.size).toBe(0))
  })

  it('stops the session safely and quits when told so', async () => {
    await start()
    await ask('run')
    await vi.waitFor(() => expect(stand.seen.blockers.size).toBe(1))
    stand.answers.push(1)
    await window().close()
    await vi.waitFor(() => expect(stand.seen.quits).toBe(1), { timeout: 5000 })
  })

  it('refuses to leave the built page, to open windows and to load anything foreign', async () => {
    await start()
    const contents = window().webContents
    let prevented = 0
    const event = (url: string) => ({ url, preventDefault: () => (prevented += 1) })
    contents.emit('will-navigate', event('https://elsewhere.example/'))
    contents.emit('will-redirect', event('file:///etc/passwd'))
    contents.emit('will-frame-navigate', event('https://elsewhere.example/frame'))
    contents.emit('will-attach-webview', event(''))
    expect(prevented).toBe(4)
    contents.emit('will-navigate', event(`${ORIGIN}/`))
    expect(prevented).toBe(4)
    expect(contents.windowOpenHandler?.({ url: `${ORIGIN}/` })).toEqual({ action: 'deny' })
  })

  it('denies every permission and every foreign request of the session', async () => {
    await start()
    const answers: unknown[] = []
    const { permissionRequest, permissionCheck, devicePermission, beforeRequest } = stand.session as Record<
      string,
      (...args: unknown[]) => unknown
    >
    for (const permission of ['media', 'geolocation', 'notifications', 'serial', 'clipboard-read']) {
      permissionRequest!({}, permission, (allowed: boolean) => answers.push(allowed))
    }
    expect(answers).toEqual([false, false, false, false, false])
    expect(permissionCheck!()).toBe(false)
    expect(devicePermission!()).toBe(false)
    const cancelled = (url: string) => {
      let result: { cancel?: boolean } = {}
      beforeRequest!({ url }, (given: { cancel?: boolean }) => {
        result = given
      })
      return result.cancel
    }
    expect(cancelled('https://elsewhere.example/x')).toBe(true)
    expect(cancelled('file:///etc/passwd')).toBe(true)
    expect(cancelled(`${ORIGIN}/page.js`)).toBe(false)
  })

  it('gives no port to a frame that is not its own window', async () => {
    await start()
    const contents = window().webContents
    const connected = vi.spyOn(shell.core, 'connect')
    stand.send('stillpoint-ask-port', { url: 'https://elsewhere.example/' }, contents)
    stand.send('stillpoint-ask-port', { url: `${ORIGIN}/` }, contents)
    stand.send('stillpoint-ask-port', null, contents)
    expect(connected).not.toHaveBeenCalled()
    expect(said.filter((words) => words.includes('refused a port'))).toHaveLength(3)
  })

  it('confines its scheme to the built page', async () => {
    await start()
    const status = (path: string) => page().evaluate(async (asked) => (await fetch(asked)).status, path)
    expect(await status('/page.js')).toBe(200)
    expect(await status('/../../package.json')).toBe(404)
    expect(await status('/%2e%2e/preload.cjs')).toBe(404)
  })

  it('remembers where its window was', async () => {
    await start()
    await window().close()
    expect(existsSync(join(folder, 'data/window.json'))).toBe(true)
    expect(JSON.parse(readFileSync(join(folder, 'data/window.json'), 'utf8'))).toMatchObject({
      x: 10,
      y: 20,
      width: 1280,
      height: 800,
    })
  })

  it('opens only fixed pages outside', async () => {
    await start()
    for (const item of stand.seen.menu.find((menu) => menu.label === 'Help')?.submenu ?? []) item.click?.()
    expect(stand.seen.outside.every((address) => address.startsWith('https://'))).toBe(true)
    expect(stand.seen.outside.length).toBeGreaterThan(0)
  })
})
