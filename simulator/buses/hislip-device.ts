import type { Clock } from '../../app/base/clock.ts'
import { FATAL } from '../../app/buses/hislip.ts'
import type { FaultDesk } from '../faults/desk.ts'
import { type FaultKind, PACKET_FAULTS } from '../faults/order.ts'
import type { BusManners, LabPort, PortEvents } from '../instruments/port.ts'
import { BusLock } from './lock.ts'

/** One client, as the instrument sees it. */
export interface HislipClient {
  answer(text: string): void
  requestService(status: number): void
  fatal(code: number, words: string): void
  drop(): void
}

/** An instrument's place on HiSLIP: one sub-address. */
export class HislipDevice implements LabPort {
  readonly name: string
  readonly desk: FaultDesk
  readonly lock: BusLock
  readonly sessions = new Set<HislipClient>()
  readonly bus: BusManners
  readonly #events: PortEvents
  readonly #other = {}
  /** Whose message was heard last: the answer is for it. */
  #asker: HislipClient | undefined
  #there = false

  constructor(name: string, clock: Clock, desk: FaultDesk, events: PortEvents) {
    this.name = name
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
      requestService: (status) => {
        for (const session of this.sessions) session.requestService(status)
      },
      dropLink: () => {
        for (const session of [...this.sessions]) session.fatal(FATAL.unidentified, 'the link was dropped')
      },
      lockByOther: () => this.lock.take(this.#other),
      unlockByOther: () => void this.lock.release(this.#other),
    }
  }

  get isThere(): boolean {
    return this.#there
  }

  get connected(): boolean {
    return this.sessions.size > 0
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
    for (const session of [...this.sessions]) session.drop()
  }

  write(text: string): void {
    this.#asker?.answer(text)
  }

  finishIfDone(): void {}

  /** Part of a message, or its end: a message that ends without a new line ends by END alone. */
  hear(session: HislipClient, text: string, end: boolean): void {
    this.#asker = session
    const bytes = end && !text.endsWith('\n') ? `${text}\n` : text
    this.#events.onBytes(Buffer.from(bytes, 'latin1'))
  }

  trigger(): void {
    this.#events.onTrigger()
  }

  clear(): void {
    this.#events.onClear()
  }

  interrupted(): void {
    this.#events.onInterrupted()
  }

  status(messageAvailable: boolean): number {
    return this.#events.statusByte(messageAvailable)
  }

  forget(session: HislipClient): void {
    this.sessions.delete(session)
    this.lock.release(session)
    if (this.#asker !== session) return
    this.#asker = undefined
    this.#events.onGone()
  }
}
