import type { Clock } from '../../app/base/clock.ts'
import { FATAL } from '../../app/buses/hislip.ts'
import type { FaultDesk } from '../faults/desk.ts'
import type { BusManners, PortEvents } from '../instruments/port.ts'
import { BusDevice, MESSAGE_FAULTS } from './bus-device.ts'
import { BusLock } from './lock.ts'

/** One client, as the instrument sees it. */
export interface HislipClient {
  answer(text: string): void
  requestService(status: number): void
  fatal(code: number, words: string): void
  drop(): void
}

/** An instrument's place on HiSLIP: one sub-address. */
export class HislipDevice extends BusDevice {
  readonly name: string
  readonly lock: BusLock
  readonly sessions = new Set<HislipClient>()
  readonly bus: BusManners
  readonly #other = {}
  /** Whose message was heard last: the answer is for it. */
  #asker: HislipClient | undefined

  constructor(name: string, clock: Clock, desk: FaultDesk, events: PortEvents) {
    super(desk, events)
    this.name = name
    this.lock = new BusLock(clock)
    this.bus = {
      faults: MESSAGE_FAULTS,
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

  get connected(): boolean {
    return this.sessions.size > 0
  }

  drop(): void {
    for (const session of [...this.sessions]) session.drop()
  }

  write(text: string): void {
    this.#asker?.answer(text)
  }

  /** Part of a message of one client, or its end. */
  hear(session: HislipClient, text: string, end: boolean): void {
    this.#asker = session
    this.pass(text, end)
  }

  clear(): void {
    this.events.onClear()
  }

  interrupted(): void {
    this.events.onInterrupted()
  }

  status(messageAvailable: boolean): number {
    return this.events.statusByte(messageAvailable)
  }

  forget(session: HislipClient): void {
    this.sessions.delete(session)
    this.lock.release(session)
    if (this.#asker !== session) return
    this.#asker = undefined
    this.events.onGone()
  }
}
