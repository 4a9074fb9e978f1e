import { join } from 'node:path'
import type { BrowserWindow, MessageBoxOptions } from 'electron'
import { Autostart } from './autostart.ts'
import { declareScheme, serveBuiltWindow } from './built-window.ts'
import { Closing } from './closing.ts'
import { ComputerEnds } from './computer-ends.ts'
import { keepPassword } from './keep-password.ts'
import { MainWindow } from './main-window.ts'
import { buildMenu } from './menu.ts'
import { Notices } from './notices.ts'
import { OpenedStation } from './opened-station.ts'
import type { ElectronParts } from './parts.ts'
import { harden } from './policy.ts'
import { WindowPorts } from './ports.ts'
import { reportSleep, StayAwake } from './power.ts'
import { Secrets } from './secrets.ts'
import { StationFolder } from './station-folder.ts'
import { CoreSupervisor, SELF_TEST } from './supervisor.ts'
import { feedIn, Updates } from './updates.ts'
import { VisaProcesses } from './visa-processes.ts'

export interface ShellPaths {
  /** Built window (dist/renderer). */
  page: string
  preload: string
  core: string
  /** What holds a VISA library. */
  visa: string
  icon: string
  /** Data folder of the station; the same one that the station without a screen would use. */
  station: string
}

/** Under this name Windows shows the program's notices; the package and its shortcuts carry the same. */
export const APP_ID = 'org.stillpoint.station'

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

/** The window counts as well: it must have come up from the archive, joined to the core. */
async function endSelfTest(
  app: ElectronParts['app'],
  main: MainWindow,
  core: CoreSupervisor,
  good: boolean,
  log: (words: string) => void,
): Promise<void> {
  const shown = main.now !== undefined && (await main.now.webContents.executeJavaScript(SHOWS_PLACES))
  if (!shown) log('Self-test failed: the window shows no places.')
  await core.stop()
  app.exit(good && shown ? 0 : 1)
}

function startWithSystem(autostart: Autostart, on: boolean, notices: Notices): void {
  try {
    autostart.set(on)
  } catch (fault) {
    notices.tell('Stillpoint', `Starting with the system could not be changed: ${(fault as Error).message}`)
  }
}

interface Ending {
  readonly main: MainWindow
  readonly closing: Closing
  readonly running: () => boolean
  readonly wantsToQuit: () => void
}

/** What the system asks of the program: to come forward, and to end. */
function hearApp(app: ElectronParts['app'], { main, closing, running, wantsToQuit }: Ending): void {
  app.on('second-instance', main.show)
  app.on('activate', main.show)
  app.on('window-all-closed', () => {
    if (!running()) void closing.quit()
  })
  app.on('before-quit', (event) => {
    if (closing.quitting) return
    event.preventDefault()
    wantsToQuit()
  })
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
  const given = selfTest || process.env.STILLPOINT_DATA !== undefined
  const folder = new StationFolder(join(data, 'station-folder.json'), paths.station, given)
  const secrets = new Secrets(electron, join(data, 'secrets.json'))
  const awake = new StayAwake(electron)
  const autostart = new Autostart(electron)
  let session: string | null = null
  const running = () => session !== null
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
    onCrash: (words) => {
      visa.endAll()
      notices.tell('Station core restarted', words)
    },
    onMessage: (message) => {
      if (message.kind === 'running') {
        session = message.session
        awake.set(running())
      } else if (message.kind === 'notice') notices.tell(message.title, message.body)
      else if (message.kind === 'leaving') closing.leavingWith(message.words)
      else if (message.kind === 'self-tested') {
        log(message.words)
        void endSelfTest(app, main, core, message.good, log)
      } else if (message.kind === 'asked-to-stop')
        void (message.safely ? closing.quitSafely('Asked to stop safely.') : closing.quit())
      else if (message.kind === 'need-secret')
        core.tell({ kind: 'secret', name: message.name, value: secrets.orNull(message.name, log) })
      else if (message.kind === 'start-visa') visa.start(message.id)
      else if (message.kind === 'end-visa') visa.end(message.id)
      else if (message.kind === 'refused') void station.refused(message.words)
    },
  })
  const visa = new VisaProcesses(electron, paths.visa, () => core)
  const ports = new WindowPorts(electron, core, log)
  const closing = new Closing({
    electron,
    core,
    running,
    window: () => main.now,
    hide: (window) => main.hide(window),
    onQuit: () => {
      awake.set(false)
      updates.close()
      main.endTray()
    },
  })
  const computer = new ComputerEnds({
    electron,
    platform,
    running,
    leave: () => {
      core.tell({ kind: 'power', what: 'shutdown' })
      void closing.quit()
    },
  })

  const main = new MainWindow({
    electron,
    platform,
    icon: paths.icon,
    preload: paths.preload,
    stateFile: join(data, 'window.json'),
    opened: (window) => computer.watch(window),
    mayClose: () => {
      if (!closing.free) void closing.ask()
      return closing.free
    },
    wantsToQuit,
    log,
  })
  const ask = (asked: MessageBoxOptions) =>
    main.now ? electron.dialog.showMessageBox(main.now, asked) : electron.dialog.showMessageBox(asked)
  const station = new OpenedStation({
    electron,
    folder,
    core,
    running,
    window: () => main.now,
    ask,
    quit: () => closing.quit(),
  })

  function wantsToQuit(): void {
    if (closing.free) void closing.quit()
    else void closing.ask()
  }

  buildMenu(electron, {
    goTo: (key) => main.press(key),
    startsWithSystem: autostart.on,
    startWithSystem: (on) => startWithSystem(autostart, on, notices),
    commands: () => main.press('k', [platform === 'darwin' ? 'meta' : 'control']),
    wall: () => main.press('w'),
    keepPassword: (name) => void keepPassword(electron, secrets, ask, name),
    openFolder: () => void station.another(),
    quit: wantsToQuit,
  })
  reportSleep(electron, (message) => core.tell(message))
  hearApp(app, { main, closing, running, wantsToQuit })

  station.start()
  main.open()
  return {
    get window() {
      return main.now
    },
    core,
    quit: () => closing.quit(),
  }
}
