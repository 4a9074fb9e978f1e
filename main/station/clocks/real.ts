import type { Clock, Disposable, Instant, StopSignal } from '../../../app/records/clock.ts'
import { sleepOn } from './sleep.ts'

/** Wall time, as instruments and people live it. */
export class RealClock implements Clock {
  readonly #origin = process.hrtime.bigint()

  now(): Instant {
    return {
      utcUs: Math.round((performance.timeOrigin + performance.now()) * 1000) + this.#stepUs(),
      monoUs: Number((process.hrtime.bigint() - this.#origin) / 1000n),
    }
  }

  after(ms: number, callback: () => void): Disposable {
    const timer = setTimeout(callback, ms)
    return { dispose: () => clearTimeout(timer) }
  }

  sleep(ms: number, signal?: StopSignal): Promise<void> {
    return sleepOn(this, ms, signal)
  }

  /** performance.timeOrigin is fixed at start; a later step of the wall clock shows only in Date.now(). */
  #stepUs(): number {
    const apart = Date.now() - (performance.timeOrigin + performance.now())
    return Math.abs(apart) > 20 ? Math.round(apart * 1000) : 0
  }
}
