import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Browser, Page } from 'playwright'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, vi } from 'vitest'
import { ORIGIN } from '../../main/desktop/policy.ts'
import { runShell, type Shell } from '../../main/desktop/shell.ts'
import { launchChromium } from '../browser/chromium.ts'
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
const told = () =>
  JSON.parse(readFileSync(join(folder, 'data/station.told.json'), 'utf8')) as Record<string, unknown>[]
const power = () =>
  told()
    .filter(({ kind }) => kind === 'power')
    .map(({ what }) => what)
const heard = () => page().textContent('#heard')
const ask = (text: string) =>
  page().evaluate((line) => (globalThis as unknown as { ask(line: string): void }).ask(line), text)
const corePid = async () => Number((await heard())?.match(/core (\d+)/)?.[1])

async function start(
  options: {
    lock?: boolean
    hungAfterMs?: number
    platform?: NodeJS.Platform
    noticesFail?: string
    before?: () => void
  } = {},
): Promise<Shell | undefined> {
  stand = await standIn(browser, join(folder, 'data'), options)
  options.before?.()
  const starting = runShell(
    stand.electron,
    {
      page: join(folder, 'page'),
      preload: join(folder, 'preload.cjs'),
      core: join(import.meta.dirname, 'small-core.mjs'),
      visa: join(import.meta.dirname, '../../drivers/link/visa-process.ts'),
      icon: join(folder, 'icon.png'),
      station: join(folder, 'data/station'),
    },
    (words) => said.push(words),
    {
      ...(options.hungAfterMs !== undefined && { hungAfterMs: options.hungAfterMs }),
      ...(options.platform !== undefined && { platform: options.platform }),
    },
  )
  stand.entryEnds()
  const started = await starting
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
    await vi.waitFor(() => expect(stand.seen.quits).toBe(1))
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

  it('replaces a core that answers no more', async () => {
    await start({ hungAfterMs: 800 })
    const before = await corePid()
    await ask('hang')
    await vi.waitFor(async () => expect(await corePid()).not.toBe(before), { timeout: 10_000 })
    expect(said).toContain('the core does not answer; replacing it')
    expect(stand.seen.processes).toHaveLength(2)
    expect(stand.seen.processes[0]!.child.signalCode).toBe('SIGTERM')
  })

  it('leaves a core alone that answers', async () => {
    await start({ hungAfterMs: 300 })
    const before = await corePid()
    await new Promise((resolve) => setTimeout(resolve, 1200))
    expect(await corePid()).toBe(before)
    expect(stand.seen.processes).toHaveLength(1)
  })

  it('asks a person when the station cannot be opened, and starts again when told so', async () => {
    mkdirSync(join(folder, 'data'), { recursive: true })
    writeFileSync(join(folder, 'data/station.refuse'), '')
    await start({ before: () => stand.answers.push(0) })
    expect(stand.seen.dialogs).toMatchObject([
      { message: 'The station cannot start.', detail: 'The folder is in use.' },
    ])
    expect(stand.seen.processes).toHaveLength(2)
    expect(stand.seen.notices).toEqual([])
  })

  it('keeps the core when the page really crashes, and opens the page again on the same core', async () => {
    await start()
    const before = await corePid()
    const crashed = page()
    await crashed.goto('chrome://crash').catch(() => undefined)
    await vi.waitFor(() => expect(window().webContents.reloads).toBe(1), { timeout: 10_000 })
    await window().ready
    expect(page()).not.toBe(crashed)
    await vi.waitFor(async () => expect(await corePid()).toBe(before), { timeout: 10_000 })
    expect(stand.seen.processes).toHaveLength(1)
    expect(said.some((words) => words.includes("the window's process ended"))).toBe(true)
  })

  it('waits before it opens a page again that crashes over and over', async () => {
    await start()
    const contents = window().webContents
    contents.emit('render-process-gone', {}, { reason: 'crashed' })
    await vi.waitFor(() => expect(contents.reloads).toBe(1))
    contents.emit('render-process-gone', {}, { reason: 'crashed' })
    await new Promise((resolve) => setTimeout(resolve, 300))
    expect(contents.reloads).toBe(1)
    await vi.waitFor(() => expect(contents.reloads).toBe(2), { timeout: 5000 })
  })

  it('closes at once while no session runs', async () => {
    await start()
    expect(await window().close()).toBe(true)
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

  it('leaves the window open when told so, whichever way it was to be closed', async () => {
    await start()
    await ask('run')
    await vi.waitFor(() => expect(stand.seen.blockers.size).toBe(1))
    stand.answers.push(2, 2, 2)
    expect(await window().close()).toBe(false)
    await vi.waitFor(() => expect(stand.answers).toHaveLength(2))
    stand.emitApp('before-quit', { preventDefault: () => undefined })
    await vi.waitFor(() => expect(stand.answers).toHaveLength(1))
    stand.seen.menu[0]!.submenu!.find(({ label }) => label === 'Quit')!.click!()
    await vi.waitFor(() => expect(stand.seen.dialogs).toHaveLength(3))
    expect(window().visible).toBe(true)
    expect(stand.seen.quits).toBe(0)
    expect(shell.core.ready).toBe(true)
  })

  it('opens the window again from the tray', async () => {
    await start()
    await ask('run')
    await vi.waitFor(() => expect(stand.seen.blockers.size).toBe(1))
    stand.answers.push(0)
    await window().close()
    await vi.waitFor(() => expect(stand.seen.tray).toBeDefined())
    stand.seen.tray![0]!.click!()
    expect(window().visible).toBe(true)
    expect(stand.seen.tray).toBeUndefined()
    expect(stand.seen.trayPx!.width).toBeLessThanOrEqual(22)
  })

  it('tells the core of sleep and waking', async () => {
    await start()
    stand.emitPower('suspend')
    stand.emitPower('resume')
    await vi.waitFor(() => expect(power()).toEqual(['suspend', 'resume']))
  })

  it('holds a shutdown of Linux or macOS back while a session runs, tells the core, and quits', async () => {
    await start({ platform: 'linux' })
    await ask('run')
    await vi.waitFor(() => expect(stand.seen.blockers.size).toBe(1))
    expect(stand.emitPower('shutdown')).toEqual({ held: true })
    await vi.waitFor(() => expect(stand.seen.quits).toBe(1), { timeout: 5000 })
    expect(power()).toEqual(['shutdown'])
    expect(stand.seen.dialogs).toEqual([])
  })

  it('holds a shutdown of Windows back while a session runs, tells the core once, and quits', async () => {
    await start({ platform: 'win32' })
    await ask('run')
    await vi.waitFor(() => expect(stand.seen.blockers.size).toBe(1))
    expect(() => stand.emitPower('shutdown')).toThrow('does not exist on win32')
    expect(stand.emitSessionEnd('query-session-end', window())).toEqual({ held: true })
    stand.emitSessionEnd('session-end', window())
    await vi.waitFor(() => expect(stand.seen.quits).toBe(1), { timeout: 5000 })
    expect(power()).toEqual(['shutdown'])
  })

  it('holds nothing back while no session runs', async () => {
    await start({ platform: 'win32' })
    expect(stand.emitSessionEnd('query-session-end', window())).toEqual({ held: false })
    await vi.waitFor(() => expect(stand.seen.quits).toBe(1), { timeout: 5000 })
  })

  it('has a name for the notices of Windows, and writes down what the system does not show', async () => {
    await start({ platform: 'win32', noticesFail: 'notifications are switched off' })
    expect(stand.seen.appId).toBe('org.stillpoint.station')
    await ask('crash')
    await vi.waitFor(() =>
      expect(said.join('\n')).toMatch(
        /the system refused it \(notifications are switched off\): The station core ended/,
      ),
    )
  })

  it('hears a core whose V8 gives up, and starts another', async () => {
    await start()
    const before = await corePid()
    await ask('abort')
    await vi.waitFor(async () => expect(await corePid()).not.toBe(before), { timeout: 10_000 })
    expect(stand.seen.notices[0]?.body).toContain('ran out of memory or V8 failed')
  })

  it('opens another data folder, and the same one at the next start', async () => {
    await start()
    const before = await corePid()
    const other = join(folder, 'data/other station')
    mkdirSync(join(other, 'sessions'), { recursive: true })
    const item = () =>
      stand.seen.menu[0]!.submenu!.find(({ label }) => label?.startsWith('Open another data folder'))!
    const things = join(folder, 'data/photographs')
    mkdirSync(things)
    writeFileSync(join(things, 'a.png'), '')
    stand.folders.push(things)
    item().click!()
    await vi.waitFor(() =>
      expect(stand.seen.dialogs.at(-1)?.message).toMatch(/holds other things and no station/),
    )
    expect(await corePid()).toBe(before)
    stand.folders.push(other)
    item().click!()
    await vi.waitFor(async () => expect(await corePid()).not.toBe(before), { timeout: 15_000 })
    const kept = JSON.parse(readFileSync(join(folder, 'data/station-folder.json'), 'utf8')) as unknown
    expect(kept).toEqual({ folder: other })
    // On a disk that is away now: it is not made anew as an empty station.
    await shell.quit()
    rmSync(other, { recursive: true })
    stand = await standIn(browser, join(folder, 'data'))
    stand.answers.push(1)
    const starting = runShell(
      stand.electron,
      {
        page: join(folder, 'page'),
        preload: join(folder, 'preload.cjs'),
        core: join(import.meta.dirname, 'small-core.mjs'),
        visa: join(import.meta.dirname, '../../drivers/link/visa-process.ts'),
        icon: join(folder, 'icon.png'),
        station: join(folder, 'data/station'),
      },
      (words) => said.push(words),
    )
    stand.entryEnds()
    shell = (await starting)!
    await vi.waitFor(() => expect(stand.seen.dialogs.at(-1)?.detail).toMatch(/other station is not there/))
    expect(shell.core.pid).toBeUndefined()
    expect(existsSync(other)).toBe(false)
  })

  it('opens no other folder under a session that runs', async () => {
    await start()
    await ask('run')
    await vi.waitFor(() => expect(stand.seen.blockers.size).toBe(1))
    const item = stand.seen.menu[0]!.submenu!.find(({ label }) => label?.startsWith('Open another'))!
    item.click!()
    await vi.waitFor(() => expect(stand.seen.dialogs.at(-1)?.message).toMatch(/when it has ended/))
  })

  it.each([
    ['mail password', 'smtp-password'],
    ['password of the signing key', 'key-password'],
  ])('keeps the %s in the safe storage and hands it to the core alone', async (label, name) => {
    await start()
    stand.clipboard.text = 'not for the page'
    stand.answers.push(0)
    const item = stand.seen.menu[0]!.submenu!.find((one) => one.label?.includes(label))!
    item.click!()
    await vi.waitFor(() => expect(stand.clipboard.text).toBe(''))
    expect(readFileSync(join(folder, 'data/secrets.json'), 'utf8')).not.toContain('not for the page')
    await ask('crash')
    await vi.waitFor(
      () => expect(told()).toContainEqual({ kind: 'secret', name, value: 'not for the page' }),
      { timeout: 10_000 },
    )
    expect(said.join('\n')).not.toContain('not for the page')
  })

  it('says why where the system has no safe place for a password', async () => {
    await start()
    stand.keyring.backend = 'none'
    stand.clipboard.text = 'kept nowhere'
    stand.answers.push(0)
    stand.seen.menu[0]!.submenu!.find(({ label }) => label?.includes('mail password'))!.click!()
    await vi.waitFor(() => expect(stand.seen.dialogs.at(-1)?.message).toMatch(/no safe place for passwords/))
    expect(existsSync(join(folder, 'data/secrets.json'))).toBe(false)
  })

  it('stops the session safely and quits when told so', async () => {
    await start()
    await ask('run')
    await vi.waitFor(() => expect(stand.seen.blockers.size).toBe(1))
    stand.answers.push(1)
    await window().close()
    await vi.waitFor(() => expect(stand.seen.quits).toBe(1), { timeout: 5000 })
  })

  it('waits for a safe stop as long as the core says what it does, and shows how far it has got', async () => {
    await start()
    writeFileSync(join(folder, 'data/station.slow'), '')
    await ask('run')
    await vi.waitFor(() => expect(stand.seen.blockers.size).toBe(1))
    stand.answers.push(1, 0)
    await window().close()
    await vi.waitFor(() => expect(window().title).toMatch(/safe setpoint of 20/))
    expect(await window().close()).toBe(false)
    await vi.waitFor(() => expect(stand.seen.dialogs).toHaveLength(2))
    expect(stand.seen.dialogs[1]!.detail).toMatch(/safe setpoint of 20 degC.*Quitting now leaves the bath/)
    expect(stand.seen.quits).toBe(0)
    rmSync(join(folder, 'data/station.slow'))
    await vi.waitFor(() => expect(stand.seen.quits).toBe(1), { timeout: 5000 })
  })

  it('quits at once all the same when told so', async () => {
    await start()
    writeFileSync(join(folder, 'data/station.slow'), '')
    await ask('run')
    await vi.waitFor(() => expect(stand.seen.blockers.size).toBe(1))
    stand.answers.push(1, 1)
    await window().close()
    await vi.waitFor(() => expect(window().title).toMatch(/safe setpoint/))
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

  it('holds against a page that has turned hostile', async () => {
    await start()
    const home = page().url()
    await page().evaluate(async () => {
      const far = 'https://elsewhere.example/'
      const put = (name: string, set: (element: HTMLElement & Record<string, string>) => void) => {
        const element = document.createElement(name) as HTMLElement & Record<string, string>
        set(element)
        document.body.append(element)
      }
      put('img', (image) => (image.src = `${far}image`))
      put('script', (script) => (script.src = `${far}script.js`))
      put('script', (script) => (script.textContent = 'window.inlineRan = true'))
      put('iframe', (frame) => (frame.src = `${far}frame`))
      put('webview', (view) => (view.src = `${far}webview`))
      put('form', (form) => {
        form.action = `${far}form`
        form.method = 'post'
        setTimeout(() => (form as unknown as HTMLFormElement).submit())
      })
      await fetch(`${far}fetch`).catch(() => undefined)
      await new Promise<void>((resolve) => {
        try {
          const socket = new WebSocket('wss://elsewhere.example/')
          socket.onerror = () => resolve()
        } catch {
          resolve()
        }
      })
      globalThis.open(`${far}popup`)
      setTimeout(() => globalThis.location.assign(`${far}navigated`), 50)
    })
    await vi.waitFor(() => expect(stand.seen.refused).toContain('https://elsewhere.example/navigated'))
    await vi.waitFor(() => expect(stand.seen.popupsDenied).toBe(1))
    await vi.waitFor(() => expect(said).toContain('refused to navigate away'))
    expect(page().url()).toBe(home)
    expect(await page().evaluate(() => 'inlineRan' in globalThis)).toBe(false)
    await ask('still here')
    await vi.waitFor(async () => expect(await heard()).toContain('heard still here'))
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

  it('gives a page that asks over and over only a few ports', async () => {
    await start()
    const told = vi.spyOn(stand.seen.processes[0]!, 'postMessage')
    await page().evaluate(() => {
      for (let i = 0; i < 200; i++) globalThis.postMessage('stillpoint-ask-port', globalThis.location.origin)
    })
    await new Promise((resolve) => setTimeout(resolve, 1000))
    const given = told.mock.calls.filter(([message]) => (message as { kind: string }).kind === 'window')
    expect(given.length).toBeGreaterThan(0)
    expect(given.length).toBeLessThan(10)
    expect(await heard()).toContain('heard hello')
  })

  it('gives no port to a frame inside its own page', async () => {
    await start()
    const connected = vi.spyOn(shell.core, 'connect')
    await page().evaluate(() => document.body.append(document.createElement('iframe')))
    await page()
      .frames()[1]!
      .evaluate(() =>
        (globalThis as unknown as { __standInSend(channel: string): void }).__standInSend(
          'stillpoint-ask-port',
        ),
      )
    await vi.waitFor(() => expect(said.some((words) => words.includes('refused a port'))).toBe(true))
    expect(connected).not.toHaveBeenCalled()
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
