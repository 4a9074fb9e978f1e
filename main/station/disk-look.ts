import { statfsSync } from 'node:fs'
import type { Clock, Disposable } from '../../app/base/clock.ts'
import { every } from '../../app/base/every.ts'
import type { StationState } from '../../app/contract/views.ts'

const EVERY_MS = 30_000
const LOW_BYTES = 1e9

/** How much room the disk of the data folder has, looked at every half a minute. */
export class DiskLook implements Disposable {
  readonly #folder: string
  #state: StationState['disk'] = { freeBytes: 0, words: 'not looked at yet', low: false }
  readonly #looking: Disposable

  constructor(folder: string, clock: Clock) {
    this.#folder = folder
    this.#look()
    this.#looking = every(clock, EVERY_MS, () => this.#look())
  }

  get state(): StationState['disk'] {
    return this.#state
  }

  dispose(): void {
    this.#looking.dispose()
  }

  #look(): void {
    try {
      const { bavail, bsize } = statfsSync(this.#folder)
      const freeBytes = bavail * bsize
      this.#state = {
        freeBytes,
        words: `${(freeBytes / 1e9).toFixed(1)} GB free`,
        low: freeBytes < LOW_BYTES,
      }
    } catch (fault) {
      this.#state = { freeBytes: 0, words: `cannot be looked at: ${(fault as Error).message}`, low: true }
    }
  }
}
