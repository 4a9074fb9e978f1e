import type { ElectronParts } from './parts.ts'

/** Keeps the computer awake while a session runs, and lets go as soon as none does. */
export class StayAwake {
  readonly #electron: ElectronParts
  #id: number | undefined

  constructor(electron: ElectronParts) {
    this.#electron = electron
  }

  set(running: boolean): void {
    if (running && this.#id === undefined)
      this.#id = this.#electron.powerSaveBlocker.start('prevent-app-suspension')
    else if (!running && this.#id !== undefined) {
      this.#electron.powerSaveBlocker.stop(this.#id)
      this.#id = undefined
    }
  }
}

/** Tells the core of sleep and waking, so that the record can say what a jump of time was. */
export function reportSleep(
  electron: ElectronParts,
  tell: (message: { kind: string; what: string }) => void,
): void {
  for (const what of ['suspend', 'resume', 'shutdown'] as const) {
    electron.powerMonitor.on(what as 'suspend', () => tell({ kind: 'power', what }))
  }
}
