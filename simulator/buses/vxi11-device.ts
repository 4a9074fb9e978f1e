import type { Clock, Disposable } from '../../app/base/clock.ts'
import { ERROR, MAV, REASON } from '../../app/buses/vxi11.ts'
import type { FaultDesk } from '../faults/desk.ts'
import type { BusManners, PortEvents } from '../instruments/port.ts'
import { BusDevice, MESSAGE_FAULTS, polledStatus } from './bus-device.ts'
import { BusLock } from './lock.ts'

/** One client's link to the instrument. */
export interface Vxi11Link {
  readonly lid: number
  /** Breaks the client's connection. */
  drop(): void
  requestService(): void
}

/** What a read brought. */
export interface ReadResult {
  readonly error: number
  readonly reason: number
  readonly data: string
}

/** An instrument's place behind VXI-11, with the output queue of IEEE 488.2: one answer waits there until it is read. */
export class Vxi11Device extends BusDevice {
  /** inst0, and the name it has behind a gateway. */
  readonly names: readonly string[]
  readonly lock: BusLock
  readonly links = new Set<Vxi11Link>()
  readonly bus: BusManners
  readonly #clock: Clock
  readonly #other = {}
  #output: string[] = []
  #reading: { finish: (error: number) => void; timer: Disposable; owner: Vxi11Link } | undefined
  #wantsService = false

  constructor(names: readonly string[], clock: Clock, desk: FaultDesk, events: PortEvents) {
    super(desk, events)
    this.names = names
    this.#clock = clock
    this.lock = new BusLock(clock)
    this.bus = {
      faults: MESSAGE_FAULTS,
      requestService: () => {
        this.#wantsService = true
        for (const link of this.links) link.requestService()
      },
      dropLink: () => this.links.clear(),
      lockByOther: () => this.lock.take(this.#other),
      unlockByOther: () => void this.lock.release(this.#other),
    }
  }

  get connected(): boolean {
    return this.links.size > 0
  }

  drop(): void {
    for (const link of [...this.links]) link.drop()
  }

  /** One answer of the instrument: it waits to be read. */
  write(text: string): void {
    this.#output.push(text)
    this.#reading?.finish(ERROR.none)
  }

  /** Part of a message, or its end. One that comes before the last answer was read interrupts it. */
  hear(text: string, end: boolean): void {
    if (this.#output.length > 0) {
      this.#output = []
      this.events.onInterrupted()
    }
    this.pass(text, end)
  }

  /** Reads up to so many bytes of one answer, waiting for it at most so long. */
  read(owner: Vxi11Link, most: number, timeoutMs: number, termchar: string | undefined): Promise<ReadResult> {
    return new Promise((resolve) => {
      const finish = (error: number) => {
        this.#reading?.timer.dispose()
        this.#reading = undefined
        resolve(error === ERROR.none ? this.#take(most, termchar) : { error, reason: 0, data: '' })
      }
      if (this.#output.length > 0) return finish(ERROR.none)
      const timer = this.#clock.after(timeoutMs, () => finish(ERROR.ioTimeout))
      this.#reading = { finish, timer, owner }
    })
  }

  /** Ends a read in progress. */
  abort(owner: Vxi11Link): void {
    if (this.#reading?.owner === owner) this.#reading.finish(ERROR.abort)
  }

  /** A serial poll. */
  status(): number {
    const status = polledStatus(this.events, this.#output.length > 0, this.#wantsService)
    this.#wantsService = false
    return this.#output.length > 0 ? status | MAV : status
  }

  clear(): void {
    this.#output = []
    this.events.onClear()
  }

  forget(link: Vxi11Link): void {
    this.links.delete(link)
    this.lock.release(link)
    this.abort(link)
    if (this.links.size > 0) return
    this.#output = []
    this.events.onGone()
  }

  #take(most: number, termchar: string | undefined): ReadResult {
    const text = this.#output.shift() ?? ''
    const met = termchar === undefined ? -1 : text.indexOf(termchar)
    const length = Math.min(most, met < 0 ? text.length : met + 1)
    const rest = text.slice(length)
    if (rest !== '') this.#output.unshift(rest)
    // The instruments send END with their new line: an answer that broke off has neither.
    let reason = rest === '' && text.endsWith('\n') ? REASON.end : 0
    if (met >= 0 && length === met + 1) reason |= REASON.character
    if (length === most) reason |= REASON.count
    return { error: ERROR.none, reason, data: text.slice(0, length) }
  }
}
