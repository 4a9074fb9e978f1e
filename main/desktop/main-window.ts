import type { BrowserWindow, Tray } from 'electron'
import type { ElectronParts } from './parts.ts'
import { ORIGIN, webPreferences } from './policy.ts'
import { readWindowState, writeWindowState } from './window-state.ts'

/** Edge of the picture in the tray: common practice on each system, no source. */
const TRAY_PX: Partial<Record<NodeJS.Platform, number>> = { win32: 16, darwin: 16 }
const USUAL_TRAY_PX = 22

interface MainWindowOptions {
  readonly electron: ElectronParts
  readonly platform: NodeJS.Platform
  readonly icon: string
  readonly preload: string
  /** Where the window's place on the screen is kept. */
  readonly stateFile: string
  readonly opened: (window: BrowserWindow) => void
  /** Whether the window may close now; where it may not, the person is being asked. */
  readonly mayClose: () => boolean
  readonly wantsToQuit: () => void
  readonly log: (words: string) => void
}

/** The program's one window, and the tray that stands for it while it is closed and a session runs. */
export class MainWindow {
  readonly #of: MainWindowOptions
  #window: BrowserWindow | undefined
  #tray: Tray | undefined

  constructor(options: MainWindowOptions) {
    this.#of = options
  }

  get now(): BrowserWindow | undefined {
    return this.#window
  }

  open(): void {
    const { electron, stateFile, icon, preload, log } = this.#of
    const { x, y, width, height, maximized } = readWindowState(stateFile)
    const opened = new electron.BrowserWindow({
      ...(x === undefined || y === undefined ? {} : { x, y }),
      width,
      height,
      minWidth: 800,
      minHeight: 560,
      show: false,
      title: 'Stillpoint',
      icon,
      backgroundColor: '#16181a',
      webPreferences: webPreferences(preload, electron.app.isPackaged),
    })
    this.#window = opened
    if (maximized) opened.maximize()
    opened.once('ready-to-show', () => opened.show())
    opened.on('close', (event) => {
      writeWindowState(stateFile, { ...opened.getNormalBounds(), maximized: opened.isMaximized() })
      if (!this.#of.mayClose()) event.preventDefault()
    })
    opened.on('closed', () => {
      if (this.#window === opened) this.#window = undefined
    })
    this.#of.opened(opened)
    this.#openAgainWhereItCrashes(opened)
    opened
      .loadURL(`${ORIGIN}/`)
      .catch((fault: Error) => log(`the window's page did not load: ${fault.message}`))
  }

  #openAgainWhereItCrashes(opened: BrowserWindow): void {
    const crashes: number[] = []
    opened.webContents.on('render-process-gone', (_event, { reason }) => {
      const now = Date.now()
      crashes.push(now)
      const lately = crashes.filter((at) => at > now - 60_000).length
      // At once the first time; a page that crashes over and over must not eat the computer that measures.
      const waitMs = lately === 1 ? 0 : Math.min(30_000, 500 * 2 ** lately)
      this.#of.log(`the window's process ended (${reason}); opening it again in ${waitMs} ms`)
      setTimeout(() => opened.isDestroyed() || opened.reload(), waitMs)
    })
  }

  readonly hide = (open: BrowserWindow): void => {
    open.hide()
    if (this.#tray) return
    const { electron, platform, icon, wantsToQuit } = this.#of
    const edge = TRAY_PX[platform] ?? USUAL_TRAY_PX
    const picture = electron.nativeImage.createFromPath(icon).resize({ width: edge, height: edge })
    this.#tray = new electron.Tray(picture)
    this.#tray.setToolTip('Stillpoint: a session is running')
    this.#tray.setContextMenu(
      electron.Menu.buildFromTemplate([
        { label: 'Open the window', click: this.show },
        { label: 'Quit...', click: wantsToQuit },
      ]),
    )
    this.#tray.on('click', this.show)
  }

  readonly show = (): void => {
    this.endTray()
    if (!this.#window) this.open()
    this.#window?.show()
    if (this.#window?.isMinimized()) this.#window.restore()
    this.#window?.focus()
  }

  endTray(): void {
    this.#tray?.destroy()
    this.#tray = undefined
  }

  /** A key of the page, pressed for the person who chose it from the menu. */
  press(keyCode: string, modifiers: ('control' | 'meta')[] = []): void {
    this.show()
    const contents = this.#window?.webContents
    contents?.sendInputEvent({ type: 'keyDown', keyCode, modifiers })
    contents?.sendInputEvent({ type: 'char', keyCode, modifiers })
    contents?.sendInputEvent({ type: 'keyUp', keyCode, modifiers })
  }
}
