import type { BrowserWindow, MessageBoxOptions } from 'electron'
import type { ElectronParts } from './parts.ts'
import type { CoreSupervisor } from './supervisor.ts'

export interface ClosingParts {
  readonly electron: ElectronParts
  readonly core: CoreSupervisor
  readonly running: () => boolean
  readonly window: () => BrowserWindow | undefined
  readonly hide: (window: BrowserWindow) => void
  /** Lets go of what the shell itself holds, just before it ends. */
  readonly onQuit: () => void
}

/**
 * How the program ends. A running session is never ended by closing a window: a person chooses. A safe stop may take half
 * an hour while a bath goes to its safe setpoint, so the window stays and says how far it has got until the core is done.
 */
export class Closing {
  readonly #p: ClosingParts
  #state: 'open' | 'leaving' | 'quitting' = 'open'
  #words = ''
  #asking = false

  constructor(parts: ClosingParts) {
    this.#p = parts
  }

  /** Whether a window may close now without anybody being asked. */
  get free(): boolean {
    return this.#state === 'quitting' || (this.#state === 'open' && !this.#p.running())
  }

  get quitting(): boolean {
    return this.#state === 'quitting'
  }

  /** What the core says it is still doing while it ends. */
  leavingWith(words: string): void {
    this.#words = words
    this.#p.window()?.setTitle(`Stillpoint: ${words}`)
  }

  /** A person wants to close the window or quit while something runs. */
  async ask(): Promise<void> {
    if (this.#asking) return
    if (this.#state === 'leaving') await this.#askWhileLeaving()
    else await this.#askWhileRunning()
  }

  /** Ends the core, however long it needs as long as it says what it does, and then the program. */
  async quit(): Promise<void> {
    if (this.#state !== 'open') return
    this.#state = 'leaving'
    await this.#p.core.stop()
    this.#state = 'quitting'
    this.#p.onQuit()
    this.#p.electron.app.quit()
  }

  /** The session is stopped safely first, where there is one. */
  async quitSafely(why: string): Promise<void> {
    if (this.#p.running()) this.#p.core.tell({ kind: 'stop-session', why })
    await this.quit()
  }

  async #askWhileRunning(): Promise<void> {
    const { response } = await this.#show({
      message: 'A session is running.',
      detail:
        'It can go on without the window. Stopping it safely sends the bath to its safe setpoint and closes the record; the window stays open until that is done.',
      buttons: [
        'Keep running in the background',
        'Stop the session safely and quit',
        'Leave the window open',
      ],
      defaultId: 0,
      cancelId: 2,
    })
    const window = this.#p.window()
    if (response === 0 && window) this.#p.hide(window)
    else if (response === 1) await this.quitSafely('The window was closed with the choice to stop safely.')
  }

  async #askWhileLeaving(): Promise<void> {
    const { response } = await this.#show({
      message: 'Stillpoint is still ending.',
      detail: `${this.#words || 'The station closes its records.'} Quitting now leaves the bath as it is; the session stays open and is taken up at the next start.`,
      buttons: ['Wait', 'Quit now'],
      defaultId: 0,
      cancelId: 0,
    })
    if (response === 1) this.#p.core.kill()
  }

  async #show(asked: Pick<MessageBoxOptions, 'message' | 'detail' | 'buttons' | 'defaultId' | 'cancelId'>) {
    const window = this.#p.window()
    const options: MessageBoxOptions = { ...asked, type: 'question', noLink: true }
    const { dialog } = this.#p.electron
    this.#asking = true
    try {
      return await (window ? dialog.showMessageBox(window, options) : dialog.showMessageBox(options))
    } finally {
      this.#asking = false
    }
  }
}
