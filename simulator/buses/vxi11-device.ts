import type { Clock, Disposable } from '../../app/base/clock.ts'
import { ERROR, MAV, REASON } from '../../app/buses/vxi11.ts'
import type { FaultDesk } from '../faults/desk.ts'
import { type FaultKind, PACKET_FAULTS } from '../faults/order.ts'
import type { BusManners, LabPort, PortEvents } from '../instruments/port.ts'
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
export class Vxi11Device implements LabPort {
  /** inst0, and the name it has behind a gateway. */
  readonly names: readonly string[]
  readonly desk: FaultDesk
  readonly lock: BusLock
  readonly links = new Set<Vxi11Link>()
  readonly bus: BusManners
  readonly #clock: Clock
  readonly #events: PortEvents
  readonly #other = {}
  #output: string[] = []
  #reading: { finish: (error: number) => void; timer: Disposable; owner: Vxi11Link } | undefined
  #wantsService = false
  #there = false

  constructor(names: readonly string[], clock: Clock, desk: FaultDesk, events: PortEvents) {
    this.names = names
    this.#clock = clock
    this.desk = desk
    this.lock = new BusLock(clock)
    this.#events = events
    const faults: readonly FaultKind[] = [
      ...PACKET_FAULTS.filter((kind) => kind !== 'noisy-packet'),
      'link-drop',
      'locked-by-other',
      'service-requests',
    ]
    this.bus = {
      faults,
      requestService: () => {
        this.#wantsService = true
        for (const link of this.links) link.requestService()
      },
      dropLink: () => this.links.clear(),
      lockByOther: () => this.lock.take(this.#other),
      unlockByOther: () => void this.lock.release(this.#other),
    }
  }

  get isThere(): boolean {
    return this.#there
  }

  get connected(): boolean {
    return this.links.size > 0
  }

  async open(): Promise<void> {
    this.#there = true
  }

  async reopen(): Promise<void> {
    this.#there = true
  }

  async close(): Promise<void> {
    this.#there = false
    this.drop()
  }

  drop(): void {
    for (const link of [...this.links]) link.drop()
  }

  finishIfDone(): void {}

  /** One answer of the instrument: it waits to be read. */
  write(text: string): void {
    this.#output.push(text)
    this.#reading?.finish(ERROR.none)
  }

  /** Part of a message, or its end: a message that ends without a new line ends by END alone. */
  hear(text: string, end: boolean): void {
    if (this.#output.length > 0) {
      this.#output = []
      this.#events.onInterrupted()
    }
    const bytes = end && !text.endsWith('\n') ? `${text}\n` : text
    this.#events.onBytes(Buffer.from(bytes, 'latin1'))
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

  /** A serial poll: bit 6 is this device's request for service, which the poll answers (IEEE 488.1; from memory). */
  status(): number {
    const byte = this.#events.statusByte(this.#output.length > 0) & ~64
    const polled = this.#wantsService ? byte | 64 : byte
    this.#wantsService = false
    return this.#output.length > 0 ? polled | MAV : polled
  }

  clear(): void {
    this.#output = []
    this.#events.onClear()
  }

  trigger(): void {
    this.#events.onTrigger()
  }

  forget(link: Vxi11Link): void {
    this.links.delete(link)
    this.lock.release(link)
    this.abort(link)
    if (this.links.size > 0) return
    this.#output = []
    this.#events.onGone()
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
