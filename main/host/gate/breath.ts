import { type EventLoopUtilization, performance } from 'node:perf_hooks'

/** Looked at this often at most, ms. */
const LOOK_MS = 50
/** Share of the loop's time in work above which onlookers wait. Chosen so that measuring keeps a third of the loop. */
const FULL = 0.65

/** Whether the loop that measures has time to spare, from how much of the last moments it has spent in work. */
export class Breath {
  #last: EventLoopUtilization = performance.eventLoopUtilization()
  #at = performance.now()
  #short = false

  /** True while the loop has little time left for what is not measuring. */
  get short(): boolean {
    const now = performance.now()
    if (now - this.#at >= LOOK_MS) {
      const current = performance.eventLoopUtilization()
      this.#short = performance.eventLoopUtilization(current, this.#last).utilization > FULL
      this.#last = current
      this.#at = now
    }
    return this.#short
  }
}
