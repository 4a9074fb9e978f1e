import type { BrowserWindow, OpenDialogOptions } from 'electron'
import type { AskSystem } from './keep-password.ts'
import type { ElectronParts } from './parts.ts'
import type { StationFolder } from './station-folder.ts'
import type { CoreSupervisor } from './supervisor.ts'

interface OpenedStationOptions {
  readonly electron: ElectronParts
  readonly folder: StationFolder
  readonly core: CoreSupervisor
  readonly running: () => boolean
  readonly window: () => BrowserWindow | undefined
  readonly ask: AskSystem
  readonly quit: () => Promise<void>
}

/** Which data folder the core works in: opened at the start, changed by a person, and never under a running session. */
export class OpenedStation {
  readonly #of: OpenedStationOptions
  /** The folder that the core has, or was to have. */
  #opened: string

  constructor(options: OpenedStationOptions) {
    this.#of = options
    this.#opened = options.folder.path
  }

  start(): void {
    const { away } = this.#of.folder
    if (away === undefined) this.#of.core.start()
    else void this.refused(away)
  }

  /** The station cannot be opened: only a person can change that, so nothing is tried again without one. */
  async refused(words: string): Promise<void> {
    const { response } = await this.#of.ask({
      type: 'error',
      message: 'The station cannot start.',
      detail: words,
      buttons: ['Try again', 'Quit', 'Open another folder...'],
      defaultId: 0,
      cancelId: 1,
      noLink: true,
    })
    if (response === 0) this.start()
    else if (response === 2) await this.another()
    else await this.#of.quit()
  }

  /** Another station's records, or those of this one somewhere else. */
  async another(): Promise<void> {
    const { folder, core, running, ask } = this.#of
    if (running()) {
      await ask({
        type: 'info',
        message: 'A session is running. Another folder can be opened when it has ended.',
      })
      return
    }
    const chosen = await this.#choose()
    if (chosen !== undefined && chosen !== folder.path) {
      const refusal = folder.refusal(chosen)
      if (refusal === undefined) folder.choose(chosen)
      else await ask({ type: 'error', message: refusal })
    }
    // Where nothing was chosen, what could not be opened is still not open.
    if (core.pid !== undefined && folder.path === this.#opened) return
    await core.stop()
    this.#opened = folder.path
    this.start()
  }

  async #choose(): Promise<string | undefined> {
    const { electron, folder } = this.#of
    const window = this.#of.window()
    const asked: OpenDialogOptions = {
      title: 'Open a data folder',
      defaultPath: folder.path,
      properties: ['openDirectory', 'createDirectory'],
    }
    const { filePaths } = await (window
      ? electron.dialog.showOpenDialog(window, asked)
      : electron.dialog.showOpenDialog(asked))
    return filePaths[0]
  }
}
