import { scanS, USUAL_PACE } from '../../app/plan/estimate.ts'
import type { SessionRun } from './session-run.ts'

/** How long nothing has been stored though something should have been, and for how long that may be, s. */
export interface Pulse {
  readonly silentS: number
  readonly allowedS: number
}

/** Nothing is due while no session runs, or where no instrument answers. */
export const NOTHING_DUE: Pulse = { silentS: 0, allowedS: 1 }

/** Scans that may go by, and the least that is waited in any case, s. Chosen: a bath's setpoint takes some seconds. */
const SCANS = 5
const LEAST_S = 120

/**
 * Whether readings arrive, for whoever looks after the core. It counts from the first reading of this life on, so that a
 * core that is started again over an instrument which says nothing is not started again for ever.
 */
export class PulseTaker {
  readonly #nowMs: () => number
  #session: string | undefined
  #stored = 0
  #at: number | undefined

  constructor(nowMs: () => number = () => performance.now()) {
    this.#nowMs = nowMs
  }

  /** `answering`: at least one link of the session is ready. */
  take(run: SessionRun | undefined, answering: boolean): Pulse {
    if (!run || !answering) {
      this.#at = undefined
      return NOTHING_DUE
    }
    const { stored } = run.recorder
    if (run.info.id !== this.#session) {
      this.#session = run.info.id
      this.#stored = stored
      this.#at = undefined
    }
    if (stored !== this.#stored) {
      this.#stored = stored
      this.#at = this.#nowMs()
    }
    if (this.#at === undefined) return NOTHING_DUE
    return {
      silentS: (this.#nowMs() - this.#at) / 1000,
      allowedS: Math.max(LEAST_S, SCANS * scanS(run.setup.bench, USUAL_PACE)),
    }
  }
}
