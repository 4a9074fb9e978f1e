import type { ElectronParts } from './parts.ts'

/** Told to a person through the system. What the system refuses to show is at least in the log. */
export class Notices {
  readonly #electron: ElectronParts
  readonly #log: (words: string) => void

  constructor(electron: ElectronParts, log: (words: string) => void) {
    this.#electron = electron
    this.#log = log
  }

  tell(title: string, body: string): void {
    if (!this.#electron.Notification.isSupported()) {
      this.#log(`not shown, this system has no notifications: ${body}`)
      return
    }
    const notice = new this.#electron.Notification({ title, body })
    notice.on('failed', (_event, error) => this.#log(`not shown, the system refused it (${error}): ${body}`))
    notice.show()
  }
}
