import type { Clock, Disposable } from '../../app/base/clock.ts'
import { every } from '../../app/base/every.ts'

const LOOK_MS = 1_000
/** Wall time against monotonic time: what differs by more is a step, s. Slewing by a time server stays below. */
const STEP_S = 0.25

/** Notices when the computer's clock is set, or when it slept, by comparing wall time with monotonic time. */
export class ClockGuard implements Disposable {
  readonly #clock: Clock
  readonly #onStep: (seconds: number) => void
  #apartUs: number
  readonly #looking: Disposable

  constructor(clock: Clock, onStep: (seconds: number) => void) {
    this.#clock = clock
    this.#onStep = onStep
    this.#apartUs = this.#apart()
    this.#looking = every(clock, LOOK_MS, () => this.#look())
  }

  dispose(): void {
    this.#looking.dispose()
  }

  #apart(): number {
    const { utcUs, monoUs } = this.#clock.now()
    return utcUs - monoUs
  }

  #look(): void {
    const apart = this.#apart()
    const stepS = (apart - this.#apartUs) / 1e6
    this.#apartUs = apart
    if (Math.abs(stepS) > STEP_S) this.#onStep(stepS)
  }
}
