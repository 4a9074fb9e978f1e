import type { Clock } from '../../app/base/clock.ts'
import type { Traffic } from './traffic.ts'

const QUIET_US = 1e6

/**
 * Service requests of one instrument as remarks beside the traffic. An instrument that asks for service thousands of
 * times a second gets one remark a second, with how many came.
 */
export class ServiceRequests {
  readonly #clock: Clock
  readonly #traffic: Traffic
  #untold = 0
  #toldUs = Number.NEGATIVE_INFINITY

  constructor(clock: Clock, traffic: Traffic) {
    this.#clock = clock
    this.#traffic = traffic
  }

  hear(status: number | undefined): void {
    this.#untold += 1
    const at = this.#clock.now()
    if (at.monoUs - this.#toldUs < QUIET_US) return
    const byte = status === undefined ? '' : `, status byte ${status}`
    const times = this.#untold === 1 ? 'service request' : `${this.#untold} service requests`
    this.#traffic.tell('note', times + byte, at)
    this.#toldUs = at.monoUs
    this.#untold = 0
  }
}
