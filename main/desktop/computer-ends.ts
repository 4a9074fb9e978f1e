import type { BrowserWindow } from 'electron'
import type { ElectronParts } from './parts.ts'

export interface ComputerEndsParts {
  readonly electron: ElectronParts
  readonly platform: NodeJS.Platform
  /** Whether something runs that must be told of it first. */
  readonly running: () => boolean
  /** Tells the core, waits until it has let go of everything, and quits. */
  readonly leave: () => void
}

/**
 * Shutdown, restart and logging off, the three ways that systems tell of them. Windows asks each window before
 * (`query-session-end`, may be held back) and tells it when it is too late (`session-end`, may not); macOS and Linux tell
 * the power monitor (`shutdown`, may be held back). Held back only as long as the core takes to tell people, to make the
 * bath safe where that is wished, and to close its files.
 */
export class ComputerEnds {
  readonly #p: ComputerEndsParts
  #leaving = false

  constructor(parts: ComputerEndsParts) {
    this.#p = parts
    if (parts.platform !== 'win32')
      parts.electron.powerMonitor.on('shutdown', ((event?: { preventDefault(): void }) =>
        this.#holdBack(event)) as () => void)
  }

  watch(window: BrowserWindow): void {
    if (this.#p.platform !== 'win32') return
    window.on('query-session-end', (event) => this.#holdBack(event))
    window.on('session-end', () => this.#leave())
  }

  #holdBack(event: { preventDefault(): void } | undefined): void {
    if (this.#p.running()) event?.preventDefault()
    this.#leave()
  }

  #leave(): void {
    if (this.#leaving) return
    this.#leaving = true
    this.#p.leave()
  }
}
