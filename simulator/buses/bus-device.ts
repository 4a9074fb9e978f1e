import type { FaultDesk } from '../faults/desk.ts'
import { type FaultKind, PACKET_FAULTS } from '../faults/order.ts'
import type { BusManners, LabPort, PortEvents } from '../instruments/port.ts'

/** What every bus with messages can do wrong. */
export const MESSAGE_FAULTS: readonly FaultKind[] = [
  ...PACKET_FAULTS.filter((kind) => kind !== 'noisy-packet'),
  'link-drop',
  'locked-by-other',
  'service-requests',
]

/** An instrument's place on a bus with messages: whether it is there, and how a message reaches the instrument. */
export abstract class BusDevice implements LabPort {
  readonly desk: FaultDesk
  abstract readonly bus: BusManners
  protected readonly events: PortEvents
  #there = false

  constructor(desk: FaultDesk, events: PortEvents) {
    this.desk = desk
    this.events = events
  }

  get isThere(): boolean {
    return this.#there
  }

  abstract get connected(): boolean
  abstract drop(): void
  abstract write(text: string): void

  async open(): Promise<void> {
    this.#there = true
  }

  reopen(): Promise<void> {
    return this.open()
  }

  async close(): Promise<void> {
    this.#there = false
    this.drop()
  }

  finishIfDone(): void {}

  trigger(): void {
    this.events.onTrigger()
  }

  /** Part of a message, or its end: a message that ends without a new line ends by END alone. */
  protected pass(text: string, isEnd: boolean): void {
    const bytes = isEnd && !text.endsWith('\n') ? `${text}\n` : text
    this.events.onBytes(Buffer.from(bytes, 'latin1'))
  }
}

/** A serial poll of a device with an output queue: bit 6 is its request for service, which the poll answers (IEEE 488.1; from memory). */
export function polledStatus(events: PortEvents, isAvailable: boolean, wantsService: boolean): number {
  const byte = events.statusByte(isAvailable) & ~64
  return wantsService ? byte | 64 : byte
}
