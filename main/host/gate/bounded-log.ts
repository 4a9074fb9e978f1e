import type { StationLog } from '../../station/log.ts'

const MINUTE_MS = 60_000
const LINES_A_MINUTE = 20

/** What strangers can cause to be written: so many lines a minute, the rest as a count, so that nobody fills the disk. */
export class BoundedLog {
  readonly #log: Pick<StationLog, 'warn'>
  readonly #nowMs: () => number
  #since = Number.NEGATIVE_INFINITY
  #lines = 0
  #leftOut = 0

  constructor(log: Pick<StationLog, 'warn'>, nowMs: () => number = () => performance.now()) {
    this.#log = log
    this.#nowMs = nowMs
  }

  warn(words: string): void {
    const now = this.#nowMs()
    if (now - this.#since >= MINUTE_MS) {
      if (this.#leftOut > 0) this.#log.warn(`${this.#leftOut} more refusals in the minute before`)
      this.#since = now
      this.#lines = 0
      this.#leftOut = 0
    }
    if (this.#lines < LINES_A_MINUTE) {
      this.#lines += 1
      this.#log.warn(words)
    } else this.#leftOut += 1
  }
}
