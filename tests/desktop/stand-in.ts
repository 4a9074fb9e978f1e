import { type ChildProcess, fork } from 'node:child_process'
import { EventEmitter } from 'node:events'
import { readFileSync } from 'node:fs'
import { stripTypeScriptTypes } from 'node:module'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type * as Electron from 'electron'
import type { Browser, BrowserContext, Page, Request as PlaywrightRequest } from 'playwright'
import type { ElectronParts } from '../../main/desktop/parts.ts'

/**
 * A stand-in for the `electron` module: windows are real Chromium pages, the utility process is a real child of Node,
 * message ports really carry. What the shell asks of Electron is recorded, so that tests can look at it.
 *
 * It is as strict as Electron 45 in what the program uses. Where a rule comes from stands beside it: `typings` is
 * node_modules/electron/electron.d.ts, `docs` Electron's own documentation (docs/ of its repository).
 */

const WEB = 'https://window.stillpoint.invalid'
const OWN = 'stillpoint://window'
const toWeb = (address: string) => address.replace(OWN, WEB)
const toOwn = (address: string) => address.replace(WEB, OWN)

let portNumber = 0

/** One end of a channel in the main process; whatever arrives goes to its other end. */
class StandInPort extends EventEmitter {
  readonly id = ++portNumber
  other: StandInPort | undefined
  deliver: ((data: unknown) => void) | undefined
  readonly #early: unknown[] = []

  #transferred = false

  /** A port that was handed on is no longer its sender's: a second transfer is refused (HTML, transferable objects). */
  transfer(): void {
    if (this.#transferred)
      throw new Error('An object could not be cloned: the port has been transferred already.')
    this.#transferred = true
  }

  /** Called by the other end. */
  receive(data: unknown): void {
    if (this.deliver) this.deliver(data)
    else this.#early.push(data)
  }

  carryTo(deliver: (data: unknown) => void): void {
    this.deliver = deliver
    for (const data of this.#early.splice(0)) deliver(data)
  }

  /** What is to be done at this end when the other one has gone. */
  onEnd: () => void = () => undefined
}

export class StandInChannel {
  readonly port1 = new StandInPort()
  readonly port2 = new StandInPort()
  constructor() {
    this.port1.other = this.port2
    this.port2.other = this.port1
  }
}

export class StandInUtilityProcess extends EventEmitter {
  readonly child: ChildProcess
  readonly stdout
  readonly stderr
  readonly #ports = new Map<number, StandInPort>()

  constructor(script: string, args: string[], options: Electron.ForkOptions = {}) {
    super()
    // typings, ForkOptions `allowLoadingUnsignedLibraries`: a boolean; without it the hardened runtime refuses on macOS.
    const { allowLoadingUnsignedLibraries: unsigned = false } = options
    if (typeof unsigned !== 'boolean') throw new TypeError('allowLoadingUnsignedLibraries is no boolean')
    this.child = fork(script, args, {
      // A program is started from anywhere; nothing may be looked for where the tests happen to run.
      cwd: tmpdir(),
      execArgv: ['--import', join(import.meta.dirname, 'parent-port.mjs')],
      stdio: ['ignore', 'pipe', 'pipe', 'ipc'],
      serialization: 'advanced',
    })
    this.stdout = this.child.stdout
    this.stderr = this.child.stderr
    this.child.on(
      'message',
      (sent: { message?: unknown; port?: number; portClosed?: number; data?: unknown }) => {
        if (sent.portClosed !== undefined) this.#ports.get(sent.portClosed)?.other?.onEnd()
        else if (sent.port !== undefined) this.#ports.get(sent.port)?.other?.receive(sent.data)
        else if (sent.message !== undefined) this.emit('message', sent.message)
      },
    )
    this.child.on('spawn', () => {
      this.#spawned = true
      this.emit('spawn')
    })
    this.child.on('exit', (code, signal) => {
      for (const port of this.#ports.values()) port.other?.onEnd()
      // typings, UtilityProcess 'error': a non continuable error from V8, then 'exit' as well. V8 ends by SIGABRT. As
      // with every emitter of Node, nobody listening means that it is thrown.
      if (signal === 'SIGABRT')
        this.emit('error', 'FatalError', 'v8::internal::V8::FatalProcessOutOfMemory', '{}')
      this.emit('exit', code ?? 1)
      this.#spawned = false
    })
  }

  #spawned = false

  /** typings, UtilityProcess `pid`: undefined until the child has been spawned, and after 'exit'. */
  get pid(): number | undefined {
    return this.#spawned ? this.child.pid : undefined
  }

  postMessage(message: unknown, ports: StandInPort[] = []): void {
    for (const port of ports) {
      // typings: `transfer?: MessagePortMain[]`, nothing else.
      if (!(port instanceof StandInPort)) throw new TypeError('Invalid value for transfer')
      port.transfer()
    }
    if (!this.child.connected) return
    for (const port of ports) {
      this.#ports.set(port.id, port)
      port.carryTo((data) => this.#send({ port: port.id, data }))
      port.onEnd = () => this.#send({ portClosed: port.id })
    }
    this.#send({ message, ports: ports.map((port) => port.id) })
  }

  /** What is sent to a process that is just ending is lost without a word, as in Electron. */
  #send(sent: object): void {
    if (this.child.connected) this.child.send(sent, () => undefined)
  }

  /** typings, UtilityProcess `kill`: on POSIX it uses SIGTERM. */
  kill(): boolean {
    return this.child.kill('SIGTERM')
  }
}

const preloadSource = () =>
  stripTypeScriptTypes(
    readFileSync(join(import.meta.dirname, '../../main/desktop/preload.ts'), 'utf8'),
  ).replace(
    /import \{ ipcRenderer \} from 'electron'\n/,
    'const { ipcRenderer } = window.__standInElectron\n',
  )

/** Runs in the page before anything else: the preload's side of the bridge. */
const BRIDGE = `
(() => {
  const listeners = new Map()
  const ports = new Map()
  const encode = (data) => typeof data === 'string' ? { text: data } : { base64: new Uint8Array(data.buffer ?? data, data.byteOffset ?? 0, data.byteLength).toBase64() }
  window.__standInElectron = { ipcRenderer: {
    send: (channel) => window.__standInSend(channel),
    on: (channel, listener) => listeners.set(channel, listener),
  } }
  window.__standInPost = (channel, id) => {
    const { port1, port2 } = new MessageChannel()
    ports.set(id, port2)
    onTheWay.push(id)
    port2.onmessage = (event) => window.__standInPort(id, encode(event.data))
    listeners.get(channel)?.({ ports: [port1] })
  }
  // Electron tells a page when the other end of its port has gone; plain Chromium does not.
  const given = new Map()
  const onTheWay = []
  window.addEventListener('message', ({ ports: [port] }) => port && given.set(onTheWay.shift(), port))
  window.__standInClose = (id) => given.get(id)?.dispatchEvent(new Event('close'))
  window.__standInDeliver = (id, data) => ports.get(id)?.postMessage(data.text ?? Uint8Array.fromBase64(data.base64).buffer)
})()
`

class StandInContents extends EventEmitter {
  page: Page | undefined
  windowOpenHandler: ((details: { url: string }) => { action: string }) | undefined
  readonly keys: unknown[] = []
  reloads = 0
  readonly mainFrame: { url: string } = { url: '' }
  #destroyed = false

  setWindowOpenHandler(handler: (details: { url: string }) => { action: string }): void {
    this.windowOpenHandler = handler
  }
  isDestroyed(): boolean {
    return this.#destroyed
  }
  executeJavaScript(code: string): Promise<unknown> {
    return this.page!.evaluate(code)
  }
  sendInputEvent(event: unknown): void {
    this.keys.push(event)
  }
  postMessage(channel: string, _message: unknown, ports: StandInPort[]): void {
    const port = ports[0]!
    port.transfer()
    port.carryTo((data) => {
      const carried: Carried =
        typeof data === 'string'
          ? { text: data }
          : { base64: Buffer.from(data as Uint8Array).toString('base64') }
      void this.page
        ?.evaluate(([id, sent]) => (window as unknown as Hooks).__standInDeliver(id, sent), [
          port.id,
          carried,
        ] as const)
        .catch(() => undefined)
    })
    port.onEnd = () =>
      void this.page
        ?.evaluate((id) => (window as unknown as Hooks).__standInClose(id), port.id)
        .catch(() => undefined)
    this.#ports.set(port.id, port)
    void this.page
      ?.evaluate(([name, id]) => (window as unknown as Hooks).__standInPost(name, id), [
        channel,
        port.id,
      ] as const)
      .catch(() => undefined)
  }
  readonly #ports = new Map<number, StandInPort>()
  /** A page that goes takes its ends of all channels along. */
  leavePage(): void {
    for (const port of this.#ports.values()) port.other?.onEnd()
    this.#ports.clear()
  }
  fromPage(id: number, data: Carried): void {
    this.#ports.get(id)?.other?.receive(data.text ?? new Uint8Array(Buffer.from(data.base64 ?? '', 'base64')))
  }
  async destroy(): Promise<void> {
    this.#destroyed = true
    this.leavePage()
    this.emit('destroyed')
    await this.page?.close()
  }
}

/** What a port carries, in a form that goes through the driver fast: a list of numbers would take it most of its time. */
interface Carried {
  text?: string
  base64?: string
}

interface Hooks {
  __standInDeliver(id: number, data: Carried): void
  __standInPost(channel: string, id: number): void
  __standInClose(id: number): void
}

export interface StandIn {
  electron: ElectronParts
  /** Everything the shell did that a test may look at. */
  seen: {
    windows: StandInWindow[]
    processes: StandInUtilityProcess[]
    dialogs: { message: string; detail?: string }[]
    notices: { title: string; body: string }[]
    schemes: unknown[]
    sandboxed: boolean
    openAtLogin: boolean
    /** How often the program has really ended: every window closed, nobody having held it back. */
    quits: number
    /** Codes with which the program was ended without asking anybody. */
    exits: number[]
    /** AppUserModelID under which Windows shows notices. */
    appId: string | undefined
    trayPx: { width: number; height: number } | undefined
    blockers: Set<number>
    menu: { label?: string; submenu?: { label?: string; click?: () => void }[] }[]
    outside: string[]
    /** Addresses that pages asked for and did not get. */
    refused: string[]
    popupsDenied: number
    /** The tray's menu while there is one. */
    tray: { label?: string; click?: () => void }[] | undefined
  }
  /** What lies in the clipboard. */
  clipboard: { text: string }
  /** Which safe storage the system has; 'none' for none. */
  keyring: { backend: string }
  /** What the next question is answered with. */
  answers: number[]
  /** Which folder the person chooses when next asked for one; none where there is none. */
  folders: string[]
  /** Handlers that the session was given. */
  session: Record<string, (...args: never[]) => unknown>
  emitApp(event: string, ...args: unknown[]): void
  /**
   * The entry module has been evaluated: only now does `ready` come. docs, tutorial/esm: the entry and its imports run
   * before `ready`; typings, App 'ready': only after the first tick of the main process.
   */
  entryEnds(): void
  /** Events of the power monitor; throws for one that this platform does not have. */
  emitPower(event: 'suspend' | 'resume' | 'shutdown'): { held: boolean }
  /** The system asks, then tells, that the person's session ends; only Windows does. */
  emitSessionEnd(event: 'query-session-end' | 'session-end', window: StandInWindow): { held: boolean }
  send(channel: string, frame: { url: string } | null, contents: StandInContents): void
  close(): Promise<void>
}

export class StandInWindow extends EventEmitter {
  readonly webContents: StandInContents
  readonly options: { webPreferences: Record<string, unknown> } & Record<string, unknown>
  visible = false
  ready: Promise<void> = Promise.resolve()
  readonly #open: (window: StandInWindow, address: string) => Promise<void>
  #destroyed = false

  constructor(
    options: StandInWindow['options'],
    contents: StandInContents,
    open: (window: StandInWindow, address: string) => Promise<void>,
  ) {
    super()
    this.options = options
    this.webContents = contents
    this.#open = open
  }
  title = ''
  setTitle(title: string): void {
    this.title = title
  }
  loadURL(address: string): Promise<void> {
    this.ready = this.#open(this, address)
    return this.ready
  }
  show(): void {
    this.visible = true
  }
  hide(): void {
    this.visible = false
  }
  focus(): void {}
  restore(): void {}
  maximize(): void {}
  isMaximized(): boolean {
    return false
  }
  isMinimized(): boolean {
    return false
  }
  isDestroyed(): boolean {
    return this.#destroyed
  }
  getNormalBounds() {
    return { x: 10, y: 20, width: 1280, height: 800 }
  }
  reload(): void {
    this.webContents.reloads += 1
    // A reload may be overtaken by the next one, or by the end.
    this.ready = this.#open(this, `${OWN}/`).catch(() => undefined)
  }
  /** As a person does: may be prevented. */
  async close(): Promise<boolean> {
    let prevented = false
    this.emit('close', { preventDefault: () => (prevented = true) })
    if (prevented) return false
    this.#destroyed = true
    await this.webContents.destroy()
    this.emit('closed')
    return true
  }
}

/** Makes the stand-in. `userData` is where the shell keeps its files. */
export async function standIn(
  browser: Browser,
  userData: string,
  options: { lock?: boolean; platform?: NodeJS.Platform; noticesFail?: string; packaged?: boolean } = {},
): Promise<StandIn> {
  const platform = options.platform ?? process.platform
  const app = new EventEmitter()
  const powerMonitor = new EventEmitter()
  const entry = Promise.withResolvers<void>()
  let isReady = false
  let schemesDeclared = false
  const needReady = (what: string) => {
    if (!isReady) throw new Error(`${what} can only be used after app is ready`)
  }
  const needEarly = (what: string) => {
    if (isReady) throw new Error(`${what} can only be called before app is ready`)
  }
  const onlyOn = (what: string, ...platforms: NodeJS.Platform[]) => {
    if (!platforms.includes(platform)) throw new Error(`${what} does not exist on ${platform}`)
  }
  const ipcMain = new EventEmitter()
  const context: BrowserContext = await browser.newContext({ viewport: { width: 1280, height: 800 } })
  let handleScheme: ((request: Request) => Response | Promise<Response>) | undefined
  const session: StandIn['session'] = {}
  const seen: StandIn['seen'] = {
    windows: [],
    processes: [],
    dialogs: [],
    notices: [],
    schemes: [],
    sandboxed: false,
    openAtLogin: false,
    quits: 0,
    exits: [],
    appId: undefined,
    trayPx: undefined,
    blockers: new Set(),
    menu: [],
    outside: [],
    refused: [],
    popupsDenied: 0,
    tray: undefined,
  }
  const answers: number[] = []
  const folders: string[] = []
  const clipboard = { text: '' }
  const keyring = { backend: 'gnome_libsecret' }

  async function open(window: StandInWindow, address: string): Promise<void> {
    const contents = window.webContents
    const page = contents.page && !contents.page.isClosed() ? contents.page : await context.newPage()
    if (contents.page !== page) {
      contents.page = page
      await page.exposeBinding('__standInSend', ({ frame }, channel: string) => {
        contents.mainFrame.url = toOwn(page.url())
        const senderFrame = frame === page.mainFrame() ? contents.mainFrame : { url: toOwn(frame.url()) }
        ipcMain.emit(channel, { sender: contents, senderFrame })
      })
      await page.exposeFunction('__standInPort', (id: number, data: Carried) => contents.fromPage(id, data))
      await page.addInitScript(BRIDGE)
      await page.addInitScript(preloadSource())
      await page.route('**/*', async (route) => {
        const asked = route.request()
        const url = asked.url()
        if (refusedByShell(contents, page, asked)) {
          seen.refused.push(toOwn(url))
          return route.abort('aborted')
        }
        const answer = await handleScheme!(new Request(toOwn(url), { method: route.request().method() }))
        const body = Buffer.from(await answer.arrayBuffer())
        // The window knows the desktop by its scheme, which here has another name.
        const script = answer.headers.get('Content-Type')?.startsWith('text/javascript')
        await route.fulfill({
          status: answer.status,
          headers: Object.fromEntries(answer.headers),
          body: script ? body.toString().replaceAll('stillpoint:', 'https:') : body,
        })
      })
      page.on('popup', (popup) => {
        const { action } = contents.windowOpenHandler?.({ url: popup.url() }) ?? { action: 'allow' }
        if (action !== 'deny') return
        seen.popupsDenied += 1
        void popup.close()
      })
      page.on('crash', () => {
        contents.page = undefined
        contents.emit('render-process-gone', {}, { reason: 'crashed' })
      })
    }
    contents.leavePage()
    await page.goto(toWeb(address))
    window.emit('ready-to-show')
  }

  /** Puts a request of the page before the shell's own handlers, as Electron does. */
  function refusedByShell(contents: StandInContents, page: Page, asked: PlaywrightRequest): boolean {
    const url = toOwn(asked.url())
    let refused = false
    const refuse = () => {
      refused = true
    }
    if (asked.isNavigationRequest()) {
      const top = asked.frame() === page.mainFrame()
      contents.emit(top ? 'will-navigate' : 'will-frame-navigate', { url, preventDefault: refuse })
    }
    const onBeforeRequest = session.beforeRequest as unknown as (
      details: { url: string },
      callback: (answer: { cancel?: boolean }) => void,
    ) => void
    onBeforeRequest({ url }, ({ cancel }) => cancel && refuse())
    return refused || !asked.url().startsWith(WEB)
  }

  const started = entry.promise.then(async () => {
    await new Promise((resolve) => setImmediate(resolve))
    isReady = true
    app.emit('session-created', {
      setPermissionRequestHandler: (handler: never) => {
        session.permissionRequest = handler
      },
      setPermissionCheckHandler: (handler: never) => {
        session.permissionCheck = handler
      },
      setDevicePermissionHandler: (handler: never) => {
        session.devicePermission = handler
      },
      webRequest: {
        onBeforeRequest: (handler: never) => {
          session.beforeRequest = handler
        },
      },
    })
    app.emit('ready', {})
  })

  /** typings, App 'before-quit' and 'window-all-closed': asks, closes every window, and only then ends. */
  let closingAll = false
  async function quit(): Promise<void> {
    let held = false
    app.emit('before-quit', { preventDefault: () => (held = true) })
    if (held) return
    closingAll = true
    for (const window of seen.windows) {
      if (window.isDestroyed() || (await window.close())) continue
      closingAll = false
      return
    }
    seen.quits += 1
  }

  const electron = {
    app: Object.assign(app, {
      isPackaged: options.packaged ?? false,
      isReady: () => isReady,
      setName: () => undefined,
      getVersion: () => '0.1.0',
      setAppUserModelId: (id: string) => {
        onlyOn('app.setAppUserModelId', 'win32') // typings: @platform win32
        seen.appId = id
      },
      exit: (code = 0) => {
        seen.exits.push(code)
      },
      requestSingleInstanceLock: () => options.lock ?? true,
      enableSandbox: () => {
        needEarly('app.enableSandbox') // typings: only before app is ready
        seen.sandboxed = true
      },
      whenReady: () => started,
      getPath: () => userData,
      getLoginItemSettings: () => {
        onlyOn('app.getLoginItemSettings', 'win32', 'darwin') // typings: @platform darwin,win32
        return { openAtLogin: seen.openAtLogin }
      },
      setLoginItemSettings: ({ openAtLogin }: { openAtLogin: boolean }) => {
        seen.openAtLogin = openAtLogin
      },
      quit: () => void quit(),
    }),
    ipcMain,
    protocol: {
      registerSchemesAsPrivileged: (schemes: unknown[]) => {
        needEarly('protocol.registerSchemesAsPrivileged') // typings: only before `ready`, and once
        if (schemesDeclared) throw new Error('protocol.registerSchemesAsPrivileged can be called only once')
        schemesDeclared = true
        seen.schemes.push(...schemes)
      },
      handle: (_scheme: string, handler: typeof handleScheme) => {
        needReady('session.defaultSession') // typings: `protocol` acts on it; docs, api/session: only after `ready`
        handleScheme = handler
      },
    },
    BrowserWindow: class {
      constructor(given: StandInWindow['options']) {
        needReady('BrowserWindow') // docs, api/browser-window: not before `ready`
        const window = new StandInWindow(given, new StandInContents(), open)
        seen.windows.push(window)
        // typings, App 'window-all-closed': not while the program quits; `quits` counts only then.
        window.on('closed', () => {
          if (!closingAll && seen.windows.every((one) => one.isDestroyed())) app.emit('window-all-closed')
        })
        app.emit('web-contents-created', {}, window.webContents)
        // biome-ignore lint/correctness/noConstructorReturn: the stand-in's own class is what tests hold
        return window as never
      }
    },
    MessageChannelMain: StandInChannel,
    utilityProcess: {
      fork: (script: string, args: string[], options: Electron.ForkOptions) => {
        needReady('utilityProcess.fork') // typings, UtilityProcess `fork`
        const child = new StandInUtilityProcess(script, args, options)
        seen.processes.push(child)
        return child
      },
    },
    dialog: {
      showErrorBox: (message: string, detail: string) => seen.dialogs.push({ message, detail }),
      showMessageBox: async (...given: { message: string; detail?: string }[]) => {
        needReady('dialog') // docs, api/dialog; typings: only showErrorBox may be called before
        seen.dialogs.push(given.at(-1)!)
        return { response: answers.shift() ?? 2 }
      },
      showOpenDialog: async () => {
        needReady('dialog')
        const chosen = folders.shift()
        // typings, OpenDialogReturnValue: empty where it was cancelled
        return { canceled: chosen === undefined, filePaths: chosen === undefined ? [] : [chosen] }
      },
    },
    Notification: class extends EventEmitter {
      static isSupported() {
        return true
      }
      readonly #notice: { title: string; body: string }
      constructor(notice: { title: string; body: string }) {
        super()
        this.#notice = notice
      }
      show() {
        if (options.noticesFail === undefined) seen.notices.push(this.#notice)
        else {
          onlyOn("Notification 'failed'", 'win32', 'darwin') // typings: @platform darwin,win32
          this.emit('failed', {}, options.noticesFail)
        }
      }
    },
    Tray: class extends EventEmitter {
      constructor(picture: { width: number; height: number }) {
        super()
        needReady('Tray') // docs, api/tray: not before `ready`
        seen.trayPx = { ...picture }
      }
      setToolTip() {}
      setContextMenu(menu: NonNullable<StandIn['seen']['tray']>) {
        seen.tray = menu
      }
      destroy() {
        seen.tray = undefined
      }
    },
    nativeImage: {
      createFromPath: () => ({
        width: 512,
        height: 512,
        resize: (size: { width: number; height: number }) => size,
      }),
    },
    Menu: {
      buildFromTemplate: (template: unknown) => template,
      setApplicationMenu: (menu: StandIn['seen']['menu']) => {
        seen.menu = menu
      },
    },
    powerMonitor: {
      on: (event: string, listener: () => void) => {
        needReady('powerMonitor') // docs, api/power-monitor: not before `ready`
        powerMonitor.on(event, listener)
      },
    },
    powerSaveBlocker: {
      start: () => {
        const id = seen.blockers.size + 1
        seen.blockers.add(id)
        return id
      },
      stop: (id: number) => seen.blockers.delete(id),
    },
    safeStorage: {
      // typings: on Linux and Windows true only once `ready` was emitted.
      isEncryptionAvailable: () => (isReady || platform === 'darwin') && keyring.backend !== 'none',
      getSelectedStorageBackend: () => {
        onlyOn('safeStorage.getSelectedStorageBackend', 'linux') // typings: @platform linux
        return isReady ? keyring.backend : 'unknown'
      },
      encryptString: (text: string) => Buffer.from(text).map((byte) => byte ^ 0x5a),
      decryptString: (bytes: Buffer) => Buffer.from(bytes.map((byte) => byte ^ 0x5a)).toString(),
    },
    clipboard: {
      readText: async () => clipboard.text,
      clear: async () => {
        clipboard.text = ''
      },
    },
    session: {},
    shell: { openExternal: async (address: string) => void seen.outside.push(address) },
  } as unknown as ElectronParts

  return {
    electron,
    seen,
    answers,
    folders,
    clipboard,
    keyring,
    session,
    entryEnds: () => entry.resolve(),
    emitPower: (event) => {
      if (event === 'shutdown') onlyOn("powerMonitor 'shutdown'", 'linux', 'darwin') // typings: @platform linux,darwin
      let held = false
      powerMonitor.emit(event, { preventDefault: () => (held = true) })
      return { held }
    },
    emitSessionEnd: (event, window) => {
      onlyOn(`BrowserWindow '${event}'`, 'win32') // typings: @platform win32
      let held = false
      window.emit(event, { reasons: ['shutdown'], preventDefault: () => (held = true) })
      // typings: once 'session-end' fires there is no way to prevent it.
      return { held: held && event === 'query-session-end' }
    },
    emitApp: (event, ...args) => void app.emit(event, ...args),
    send: (channel, frame, contents) => void ipcMain.emit(channel, { sender: contents, senderFrame: frame }),
    close: async () => {
      for (const { child } of seen.processes) child.kill('SIGKILL')
      await context.close()
    },
  }
}
