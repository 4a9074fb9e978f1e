import type { MessagePortMain, UtilityProcess } from 'electron'
import type { ElectronParts } from './parts.ts'
import { endForSure } from './reap.ts'

/** The core, as far as the processes of VISA libraries concern it. */
export interface VisaCore {
  tell(message: { kind: string; [key: string]: unknown }, ports?: MessagePortMain[]): void
}

/** A process that was told to end and still stands after this long is ended by the system: its library hangs. */
const REAP_AFTER_MS = 500

/**
 * Processes that hold a VISA library, one for each link. The core may start none, since the program does not run as Node
 * (a fuse) and only the shell may fork utility processes; the shell hands the core the end of a channel to each.
 */
export class VisaProcesses {
  readonly #electron: ElectronParts
  readonly #script: string
  readonly #core: () => VisaCore
  readonly #children = new Map<number, UtilityProcess>()

  constructor(electron: ElectronParts, script: string, core: () => VisaCore) {
    this.#electron = electron
    this.#script = script
    this.#core = core
  }

  start(id: number): void {
    const child = this.#electron.utilityProcess.fork(this.#script, [], {
      serviceName: 'Stillpoint VISA',
      stdio: 'ignore',
      // A laboratory's library is signed by its maker, if by anybody (macOS).
      allowLoadingUnsignedLibraries: true,
    })
    this.#children.set(id, child)
    // V8 that cannot go on tells of it before 'exit'; nobody listening would end the shell as well.
    child.on('error', () => undefined)
    child.on('exit', (code) => {
      this.#children.delete(id)
      this.#core().tell({ kind: 'visa-ended', id, code })
    })
    const { port1, port2 } = new this.#electron.MessageChannelMain()
    child.postMessage({ kind: 'channel' }, [port2])
    this.#core().tell({ kind: 'visa-channel', id }, [port1])
  }

  /** Ends one at once; a library that hangs takes no signal but the last one. */
  end(id: number): void {
    const child = this.#children.get(id)
    if (child) endForSure(child, REAP_AFTER_MS)
  }

  /** The core that had them is gone. */
  endAll(): void {
    for (const id of [...this.#children.keys()]) this.end(id)
  }
}
