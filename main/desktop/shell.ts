import { join } from 'node:path'
import type { BrowserWindow, MessageBoxOptions, OpenDialogOptions, Tray } from 'electron'
import { Autostart } from './autostart.ts'
import { declareScheme, serveBuiltWindow } from './built-window.ts'
import { Closing } from './closing.ts'
import { ComputerEnds } from './computer-ends.ts'
import { buildMenu } from './menu.ts'
import { Notices } from './notices.ts'
import type { ElectronParts } from './parts.ts'
import { harden, ORIGIN, webPreferences } from './policy.ts'
import { WindowPorts } from './ports.ts'
import { reportSleep, StayAwake } from './power.ts'
import { SECRETS, type SecretName, Secrets } from './secrets.ts'
import { StationFolder } from './station-folder.ts'
import { CoreSupervisor, SELF_TEST } from './supervisor.ts'
import { feedIn, Updates } from './updates.ts'
import { readWindowState, writeWindowState } from './window-state.ts'

export interface ShellPaths {
  /** Built window (dist/renderer). */
  page: string
  preload: string
  core: string
  icon: string
  /** Data folder of the station; the same one that the station without a screen would use. */
  station: string
}

/** Under this name Windows shows the program's notices; the package and its shortcuts carry the same. */
export const APP_ID = 'org.stillpoint.station'

/** Edge of the picture in the tray: common practice on each system, no source. */
const TRAY_PX: Partial<Record<NodeJS.Platform, number>> = { win32: 16, darwin: 16 }
const USUAL_TRAY_PX = 22

/** Whether the window has got as far as its places. */
const SHOWS_PLACES = "document.querySelector('nav') !== null"

export interface ShellOptions {
  hungAfterMs?: number
  platform?: NodeJS.Platform
  /** The program tries itself and ends with 0 where all of it works. */
  selfTest?: boolean
}

export interface Shell {
  readonly window: BrowserWindow | undefined
  readonly core: CoreSupervisor
  quit(): Promise<void>
}

/**
 * The desktop program around the core: one window, one core process, a tray while the window is closed and a session
 * runs. Resolves with undefined where another instance holds this station already.
 *
 * Never to be awaited at the top level of the entry: Electron is ready only after the entry has been evaluated.
 */
export async function runShell(
  electron: ElectronParts,
  paths: ShellPaths,
  log: (words: string) => void,
  { platform = process.platform, selfTest = false, ...options }: ShellOptions = {},
): Promise<Shell | undefined> {
  const { app } = electron
  if (!app.requestSingleInstanceLock()) {
    app.quit()
    return undefined
  }
  app.enableSandbox()
  if (platform === 'win32') app.setAppUserModelId(APP_ID)
  declareScheme(electron)
  harden(electron, log)
  await app.whenReady()
  serveBuiltWindow(electron, paths.page)

  const data = app.getPath('userData')
  const stateFile = join(data, 'window.json')
  const given = selfTest || process.env.STILLPOINT_DATA !== undefined
  const folder = new StationFolder(join(data, 'station-folder.json'), paths.station, given)
  const secrets = new Secrets(electron, join(data, 'secrets.json'))
  const awake = new StayAwake(electron)
  const autostart = new Autostart(electron)
  let session: string | null = null
  /** The folder that the core has, or was to have. */
  let openedFolder = folder.path
  let window: BrowserWindow | undefined
  let tray: Tray | undefined
  const notices = new Notices(electron, log)
  const updates = new Updates({
    feed: feedIn(join(data, 'updates.json'), log),
    version: app.getVersion(),
    platform,
    tell: (title, words) => notices.tell(title, words),
    log,
  })

  const core = new CoreSupervisor(electron, {
    script: paths.core,
    args: () => ['--data', folder.path, ...(selfTest ? [SELF_TEST] : [])],
    ...options,
    log,
    onReady: () => ports.rejoin(),
    onCrash: (words) => notices.tell('Station core restarted', words),
    onMessage: (message) => {
      if (message.kind === 'running') {
        session = message.session
        awake.set(session !== null)
      } else if (message.kind === 'notice') notices.tell(message.title, message.body)
      else if (message.kind === 'leaving') closing.leavingWith(message.words)
      else if (message.kind === 'self-tested') void endSelfTest(message.good, message.words)
      else if (message.kind === 'asked-to-stop')
        void (message.safely ? closing.quitSafely('Asked to stop safely.') : closing.quit())
      else if (message.kind === 'need-secret')
        core.tell({ kind: 'secret', name: message.name, value: secretOrNull(message.name) })
      else if (message.kind === 'refused') void tellRefused(message.words)
    },
  })
  const ports = new WindowPorts(electron, core, log)
  const closing = new Closing({
    electron,
    core,
    running: () => session !== null,
    window: () => window,
    hide: hideToTray,
    onQuit: () => {
      awake.set(false)
      updates.close()
      tray?.destroy()
    },
  })
  const computer = new ComputerEnds({
    electron,
    platform,
    running: () => session !== null,
    leave: () => {
      core.tell({ kind: 'power', what: 'shutdown' })
      void closing.quit()
    },
  })

  /** The window counts as well: it must have come up from the archive, joined to the core. */
  async function endSelfTest(good: boolean, words: string): Promise<void> {
    const shown = window !== undefined && (await window.webContents.executeJavaScript(SHOWS_PLACES))
    log(words)
    if (!shown) log('Self-test failed: the window shows no places.')
    await core.stop()
    app.exit(good && shown ? 0 : 1)
  }

  /** A secret that cannot be read any more (another user's keyring, say) is as good as none. */
  function secretOrNull(name: string): string | null {
    try {
      return secrets.get(name) ?? null
    } catch (fault) {
      log(`the kept ${name} cannot be read: ${(fault as Error).message}`)
      return null
    }
  }

  /** The station cannot be opened: only a person can change that, so nothing is tried again without one. */
  async function tellRefused(words: string): Promise<void> {
    const { response } = await ask({
      type: 'error',
      message: 'The station cannot start.',
      detail: words,
      buttons: ['Try again', 'Quit', 'Open another folder...'],
      defaultId: 0,
      cancelId: 1,
      noLink: true,
    })
    if (response === 0) startCore()
    else if (response === 2) await openFolder()
    else await closing.quit()
  }

  function startCore(): void {
    const { away } = folder
    if (away === undefined) core.start()
    else void tellRefused(away)
  }

  /** Another station's records, or those of this one somewhere else. Never under a session that runs. */
  async function openFolder(): Promise<void> {
    if (session !== null) {
      await ask({
        type: 'info',
        message: 'A session is running. Another folder can be opened when it has ended.',
      })
      return
    }
    const asked: OpenDialogOptions = {
      title: 'Open a data folder',
      defaultPath: folder.path,
      properties: ['openDirectory', 'createDirectory'],
    }
    const { filePaths } = await (window
      ? electron.dialog.showOpenDialog(window, asked)
      : electron.dialog.showOpenDialog(asked))
    const [chosen] = filePaths
    if (chosen !== undefined && chosen !== folder.path) {
      const refusal = folder.refusal(chosen)
      if (refusal === undefined) folder.choose(chosen)
      else await ask({ type: 'error', message: refusal })
    }
    // Where nothing was chosen, what could not be opened is still not open.
    if (core.pid !== undefined && folder.path === openedFolder) return
    await core.stop()
    openedFolder = folder.path
    startCore()
  }

  /** From the clipboard, because the window never holds a password and the system's dialogs have no field for one. */
  async function keepPassword(name: SecretName): Promise<void> {
    const of = SECRETS[name]
    const copied = await electron.clipboard.readText()
    if (copied === '') {
      await ask({ type: 'info', message: `Nothing is copied. Copy the password of ${of} first.` })
      return
    }
    const { response } = await ask({
      type: 'question',
      message: `Keep the copied text (${copied.length} characters) as the password of ${of}?`,
      detail:
        'This system keeps it encrypted, and the clipboard is emptied. It holds from the next start on.',
      buttons: ['Keep it', 'Leave it'],
      defaultId: 1,
      cancelId: 1,
      noLink: true,
    })
    if (response !== 0) return
    try {
      secrets.set(name, copied)
      await electron.clipboard.clear()
    } catch (fault) {
      await ask({ type: 'error', message: (fault as Error).message })
    }
  }

  const ask = (asked: MessageBoxOptions) =>
    window ? electron.dialog.showMessageBox(window, asked) : electron.dialog.showMessageBox(asked)

  function openWindow(): void {
    const { x, y, width, height, maximized } = readWindowState(stateFile)
    const opened = new electron.BrowserWindow({
      ...(x === undefined || y === undefined ? {} : { x, y }),
      width,
      height,
      minWidth: 800,
      minHeight: 560,
      show: false,
      title: 'Stillpoint',
      icon: paths.icon,
      backgroundColor: '#16181a',
      webPreferences: webPreferences(paths.preload, app.isPackaged),
    })
    window = opened
    if (maximized) opened.maximize()
    opened.once('ready-to-show', () => opened.show())
    opened.on('close', (event) => {
      writeWindowState(stateFile, { ...opened.getNormalBounds(), maximized: opened.isMaximized() })
      if (closing.free) return
      event.preventDefault()
      void closing.ask()
    })
    opened.on('closed', () => {
      if (window === opened) window = undefined
    })
    computer.watch(opened)
    const crashes: number[] = []
    opened.webContents.on('render-process-gone', (_event, { reason }) => {
      const now = Date.now()
      crashes.push(now)
      const lately = crashes.filter((at) => at > now - 60_000).length
      // At once the first time; a page that crashes over and over must not eat the computer that measures.
      const waitMs = lately === 1 ? 0 : Math.min(30_000, 500 * 2 ** lately)
      log(`the window's process ended (${reason}); opening it again in ${waitMs} ms`)
      setTimeout(() => opened.isDestroyed() || opened.reload(), waitMs)
    })
    opened
      .loadURL(`${ORIGIN}/`)
      .catch((fault: Error) => log(`the window's page did not load: ${fault.message}`))
  }

  function hideToTray(open: BrowserWindow): void {
    open.hide()
    if (tray) return
    const edge = TRAY_PX[platform] ?? USUAL_TRAY_PX
    const picture = electron.nativeImage.createFromPath(paths.icon).resize({ width: edge, height: edge })
    tray = new electron.Tray(picture)
    tray.setToolTip('Stillpoint: a session is running')
    tray.setContextMenu(
      electron.Menu.buildFromTemplate([
        { label: 'Open the window', click: show },
        { label: 'Quit...', click: wantsToQuit },
      ]),
    )
    tray.on('click', show)
  }

  function show(): void {
    tray?.destroy()
    tray = undefined
    if (!window) openWindow()
    window?.show()
    if (window?.isMinimized()) window.restore()
    window?.focus()
  }

  function wantsToQuit(): void {
    if (closing.free) void closing.quit()
    else void closing.ask()
  }

  const press = (keyCode: string, modifiers: ('control' | 'meta')[] = []) => {
    show()
    window?.webContents.sendInputEvent({ type: 'keyDown', keyCode, modifiers })
    window?.webContents.sendInputEvent({ type: 'char', keyCode, modifiers })
    window?.webContents.sendInputEvent({ type: 'keyUp', keyCode, modifiers })
  }
  buildMenu(electron, {
    goTo: (key) => press(key),
    startsWithSystem: autostart.on,
    startWithSystem: (on) => {
      try {
        autostart.set(on)
      } catch (fault) {
        notices.tell(
          'Stillpoint',
          `Starting with the system could not be changed: ${(fault as Error).message}`,
        )
      }
    },
    commands: () => press('k', [platform === 'darwin' ? 'meta' : 'control']),
    wall: () => press('w'),
    keepPassword: (name) => void keepPassword(name),
    openFolder: () => void openFolder(),
    quit: wantsToQuit,
  })
  reportSleep(electron, (message) => core.tell(message))
  app.on('second-instance', show)
  app.on('activate', show)
  app.on('window-all-closed', () => {
    if (session === null) void closing.quit()
  })
  app.on('before-quit', (event) => {
    if (closing.quitting) return
    event.preventDefault()
    wantsToQuit()
  })

  startCore()
  openWindow()
  return {
    get window() {
      return window
    },
    core,
    quit: () => closing.quit(),
  }
}
