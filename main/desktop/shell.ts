import { join } from 'node:path'
import type { BrowserWindow, MessageBoxOptions, Tray } from 'electron'
import { Autostart } from './autostart.ts'
import { declareScheme, serveBuiltWindow } from './built-window.ts'
import { buildMenu } from './menu.ts'
import type { ElectronParts } from './parts.ts'
import { harden, ORIGIN, webPreferences } from './policy.ts'
import { WindowPorts } from './ports.ts'
import { reportSleep, StayAwake } from './power.ts'
import { Secrets } from './secrets.ts'
import { CoreSupervisor } from './supervisor.ts'
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

export interface Shell {
  readonly window: BrowserWindow | undefined
  readonly core: CoreSupervisor
  quit(): Promise<void>
}

/**
 * The desktop program around the core: one window, one core process, a tray while the window is closed and a session
 * runs. Returns undefined where another instance holds this station already.
 */
export async function runShell(
  electron: ElectronParts,
  paths: ShellPaths,
  log: (words: string) => void,
  options: { hungAfterMs?: number } = {},
): Promise<Shell | undefined> {
  const { app } = electron
  if (!app.requestSingleInstanceLock()) {
    app.quit()
    return undefined
  }
  app.enableSandbox()
  declareScheme(electron)
  harden(electron, log)
  await app.whenReady()
  serveBuiltWindow(electron, paths.page)

  const data = app.getPath('userData')
  const stateFile = join(data, 'window.json')
  const secrets = new Secrets(electron, join(data, 'secrets.json'))
  const awake = new StayAwake(electron)
  const autostart = new Autostart(electron)
  let session: string | null = null
  let window: BrowserWindow | undefined
  let tray: Tray | undefined
  let quitting = false

  const core = new CoreSupervisor(electron, {
    script: paths.core,
    args: ['--data', paths.station],
    ...options,
    log,
    onReady: () => ports.rejoin(),
    onCrash: (words) => notify('Station core restarted', words),
    onMessage: (message) => {
      if (message.kind === 'running') {
        session = message.session
        awake.set(session !== null)
      } else if (message.kind === 'notice') notify(message.title, message.body)
      else if (message.kind === 'need-secret')
        core.tell({ kind: 'secret', name: message.name, value: secretOrNull(message.name) })
      else if (message.kind === 'refused') void tellRefused(message.words)
    },
  })
  const ports = new WindowPorts(electron, core, log)

  function notify(title: string, body: string): void {
    if (electron.Notification.isSupported()) new electron.Notification({ title, body }).show()
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
      buttons: ['Try again', 'Quit'],
      defaultId: 0,
      cancelId: 1,
      noLink: true,
    })
    if (response === 0) core.start()
    else await quit()
  }

  /** From the clipboard, because the window never holds a password and the system's dialogs have no field for one. */
  async function keepMailPassword(): Promise<void> {
    const copied = await electron.clipboard.readText()
    if (copied === '') {
      await ask({ type: 'info', message: 'Nothing is copied. Copy the password of the mail server first.' })
      return
    }
    const { response } = await ask({
      type: 'question',
      message: `Keep the copied text (${copied.length} characters) as the password of the mail server?`,
      detail:
        'This system keeps it encrypted, and the clipboard is emptied. It holds from the next start on.',
      buttons: ['Keep it', 'Leave it'],
      defaultId: 1,
      cancelId: 1,
      noLink: true,
    })
    if (response !== 0) return
    try {
      secrets.set('smtp-password', copied)
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
      webPreferences: webPreferences(paths.preload),
    })
    window = opened
    if (maximized) opened.maximize()
    opened.once('ready-to-show', () => opened.show())
    opened.on('close', (event) => {
      writeWindowState(stateFile, { ...opened.getNormalBounds(), maximized: opened.isMaximized() })
      if (quitting || session === null) return
      event.preventDefault()
      void askBeforeClose(opened)
    })
    opened.on('closed', () => {
      if (window === opened) window = undefined
    })
    opened.on('session-end', () => core.tell({ kind: 'power', what: 'shutdown' }))
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

  /** A running session is never ended by closing a window: the person chooses. */
  async function askBeforeClose(open: BrowserWindow): Promise<void> {
    const { response } = await electron.dialog.showMessageBox(open, {
      type: 'question',
      message: 'A session is running.',
      detail:
        'It can go on without the window. Stopping it safely sends the bath to its safe setpoint and closes the record.',
      buttons: [
        'Keep running in the background',
        'Stop the session safely and quit',
        'Leave the window open',
      ],
      defaultId: 0,
      cancelId: 2,
      noLink: true,
    })
    if (response === 0) hideToTray(open)
    else if (response === 1) {
      core.tell({ kind: 'stop-session', why: 'The window was closed with the choice to stop safely.' })
      await quit()
    }
  }

  function hideToTray(open: BrowserWindow): void {
    open.hide()
    if (tray) return
    tray = new electron.Tray(electron.nativeImage.createFromPath(paths.icon))
    tray.setToolTip('Stillpoint: a session is running')
    tray.setContextMenu(
      electron.Menu.buildFromTemplate([
        { label: 'Open the window', click: show },
        { label: 'Quit...', click: () => (window ? void askBeforeClose(window) : void quit()) },
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

  async function quit(): Promise<void> {
    quitting = true
    await core.stop()
    awake.set(false)
    tray?.destroy()
    app.quit()
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
        notify('Stillpoint', `Starting with the system could not be changed: ${(fault as Error).message}`)
      }
    },
    commands: () => press('k', [process.platform === 'darwin' ? 'meta' : 'control']),
    wall: () => press('w'),
    keepMailPassword: () => void keepMailPassword(),
    quit: () => (session !== null && window ? void askBeforeClose(window) : void quit()),
  })
  reportSleep(electron, (message) => core.tell(message))
  app.on('second-instance', show)
  app.on('activate', show)
  app.on('window-all-closed', () => {
    if (session === null && !quitting) void quit()
  })
  app.on('before-quit', (event) => {
    if (quitting) return
    event.preventDefault()
    if (session !== null && window) void askBeforeClose(window)
    else void quit()
  })

  core.start()
  openWindow()
  return {
    get window() {
      return window
    },
    core,
    quit,
  }
}
