import type { WebContents, WebFrameMain } from 'electron'
import type { ElectronParts } from './parts.ts'
import { isOwn } from './policy.ts'
import type { CoreSupervisor } from './supervisor.ts'

const ASK = 'stillpoint-ask-port'
const GIVE = 'stillpoint-port'

/** Only the top frame of our own window may ask for the core. */
export function isTrustedSender(frame: WebFrameMain | null | undefined, contents: WebContents): boolean {
  return frame !== null && frame !== undefined && frame === contents.mainFrame && isOwn(frame.url)
}

/** Joins windows to the core: one message channel for each window that asks, and a new one after each new core. */
export class WindowPorts {
  readonly #electron: ElectronParts
  readonly #core: CoreSupervisor
  readonly #asked = new Set<WebContents>()

  constructor(electron: ElectronParts, core: CoreSupervisor, log: (words: string) => void) {
    this.#electron = electron
    this.#core = core
    electron.ipcMain.on(ASK, (event) => {
      if (!isTrustedSender(event.senderFrame, event.sender)) {
        log('refused a port to a frame that is not our window')
        return
      }
      if (!this.#asked.has(event.sender)) {
        this.#asked.add(event.sender)
        event.sender.once('destroyed', () => this.#asked.delete(event.sender))
      }
      if (core.ready) this.#join(event.sender)
    })
  }

  /** A new core is ready: every window gets a new port. */
  rejoin(): void {
    for (const contents of this.#asked) if (!contents.isDestroyed()) this.#join(contents)
  }

  #join(contents: WebContents): void {
    const { port1, port2 } = new this.#electron.MessageChannelMain()
    this.#core.connect(port1)
    contents.postMessage(GIVE, null, [port2])
  }
}
