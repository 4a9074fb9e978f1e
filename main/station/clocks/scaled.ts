import type { Clock, Disposable, Instant, StopSignal } from '../../../app/base/clock.ts'
import { RealClock } from './real.ts'
import { sleepOn } from './sleep.ts'

/** Runs `speed` times as fast as the wall, steadily. For peers in other processes, which cannot share a virtual clock. */
export class ScaledClock implements Clock {
  readonly #real = new RealClock()
  readonly #origin = this.#real.now()
  readonly #speed: number

  constructor(speed: number) {
    if (!(speed > 0)) throw new RangeError(`speed must be above 0, got ${speed}`)
    this.#speed = speed
  }

  now(): Instant {
    const real = this.#real.now()
    const mono = (real.monoUs - this.#origin.monoUs) * this.#speed
    return { utcUs: Math.round(this.#origin.utcUs + mono), monoUs: Math.round(mono) }
  }

  after(ms: number, callback: () => void): Disposable {
    return this.#real.after(ms / this.#speed, callback)
  }

  sleep(ms: number, signal?: StopSignal): Promise<void> {
    return sleepOn(this, ms, signal)
  }
}
