import type { Clock, Disposable, Instant, StopSignal } from '../../app/base/clock.ts'
import { ScaledClock } from '../../main/station/clocks/scaled.ts'

/** A scaled clock whose wall time is the same in every process that is given the same epoch. */
export class EpochClock implements Clock {
  readonly #scaled: ScaledClock
  readonly #baseUs: number

  constructor(epochMs: number, speed: number) {
    this.#scaled = new ScaledClock(speed)
    const realMs = performance.timeOrigin + performance.now()
    this.#baseUs = (epochMs + (realMs - epochMs) * speed) * 1000 - this.#scaled.now().monoUs
  }

  now(): Instant {
    const { monoUs } = this.#scaled.now()
    return { utcUs: Math.round(this.#baseUs + monoUs), monoUs }
  }

  after(ms: number, callback: () => void): Disposable {
    return this.#scaled.after(ms, callback)
  }

  sleep(ms: number, signal?: StopSignal): Promise<void> {
    return this.#scaled.sleep(ms, signal)
  }
}
