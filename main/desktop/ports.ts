import type { WebContents, WebFrameMain } from 'electron'
import { Allowance } from '../host/gate/allowance.ts'
import type { ElectronParts } from './parts.ts'
import { isOwn } from './policy.ts'
import type { CoreSupervisor } from './supervisor.ts'

const ASK = 'stillpoint-ask-port'
const GIVE = 'stillpoint-port'

/** A window asks once when it opens and every few seconds while it has no port; more is a page gone wrong. */
const ASKS_PER_SECOND = 1
const ASKS_AT_ONCE = 6

/** Only the top frame of our own window may ask for the core. */
export function isTrustedSender(frame: WebFrameMain | null | undefined, contents: WebContents): boolean {
  return frame !== null && frame !== undefined && frame === contents.mainFrame && isOwn(frame.url)
}

/** Joins windows to the core: one message channel for each window that asks, and a new one after each new core. */
export class WindowPorts {
  readonly #electron: ElectronParts
  readonly #core: CoreSupervisor
  readonly #asked = new Map<WebContents, Allowance>()

  constructor(electron: ElectronParts, core: CoreSupervisor, log: (words: string) => void) {
    this.#electron = electron
    this.#core = core
    electron.ipcMain.on(ASK, (event) => {
      if (!isTrustedSender(event.senderFrame, event.sender)) {
        log('refused a port to a frame that is not our window')
        return
      }
      let asks = this.#asked.get(event.sender)
      if (!asks) {
        asks = new Allowance(ASKS_PER_SECOND, ASKS_AT_ONCE, performance.now())
        this.#asked.set(event.sender, asks)
        event.sender.once('destroyed', () => this.#asked.delete(event.sender))
      }
      if (asks.take(1, performance.now()) && core.ready) this.#join(event.sender)
    })
  }

  /** A new core is ready: every window gets a new port. */
  rejoin(): void {
    for (const contents of this.#asked.keys()) if (!contents.isDestroyed()) this.#join(contents)
  }

  #join(contents: WebContents): void {
    const { port1, port2 } = new this.#electron.MessageChannelMain()
    this.#core.connect(port1)
    contents.postMessage(GIVE, null, [port2])
  }
}
