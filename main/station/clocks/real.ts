import type { Clock, Disposable, Instant, StopSignal } from '../../../app/base/clock.ts'
import { sleepOn } from './sleep.ts'

/** Wall time, as instruments and people live it. */
export class RealClock implements Clock {
  readonly #origin = performance.now()

  now(): Instant {
    const ms = performance.now()
    const utc = performance.timeOrigin + ms
    // performance.timeOrigin is fixed at start; a later step of the wall clock shows only in Date.now().
    const apart = Date.now() - utc
    return {
      utcUs: Math.round((Math.abs(apart) > 20 ? utc + apart : utc) * 1000),
      monoUs: Math.round((ms - this.#origin) * 1000),
    }
  }

  /** The timer can also be started anew with `refresh`, which costs far less than a new one. */
  after(ms: number, callback: () => void): Disposable & { refresh(): void } {
    const timer = setTimeout(callback, ms)
    return { dispose: () => clearTimeout(timer), refresh: () => void timer.refresh() }
  }

  sleep(ms: number, signal?: StopSignal): Promise<void> {
    return sleepOn(this, ms, signal)
  }
}
