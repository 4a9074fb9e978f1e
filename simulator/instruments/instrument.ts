import type { Clock, Disposable } from '../../app/base/clock.ts'
import type { InstrumentRole } from '../../app/instruments/faces.ts'
import type { FaultDesk } from '../faults/desk.ts'
import type { LabPort, PortEvents } from './port.ts'

export interface InstrumentParts {
  id: string
  serial: string
  clock: Clock
  desk: FaultDesk
  /** Makes the port on which it answers. */
  port: (events: PortEvents) => LabPort
}

/**
 * What all instruments of the lab have in common: a port, a power switch, timers that die with the power, and replies
 * that pass by the fault desk on their way out.
 */
export abstract class LabInstrument {
  abstract readonly role: InstrumentRole
  abstract readonly profile: string
  /** Ends of line, as it sends them. */
  protected abstract readonly terminator: string
  readonly id: string
  readonly serial: string
  readonly desk: FaultDesk
  readonly port: LabPort
  protected readonly clock: Clock
  #powered = false
  readonly #timers = new Set<Disposable>()
  /** Those of them that end in an answer to the client of now. */
  readonly #answers = new Set<Disposable>()

  constructor(parts: InstrumentParts) {
    this.id = parts.id
    this.serial = parts.serial
    this.clock = parts.clock
    this.desk = parts.desk
    const abandon = () => {
      for (const answer of [...this.#answers]) answer.dispose()
      this.forget()
    }
    this.port = parts.port({
      onBytes: (bytes) => {
        if (this.#powered) this.receive(bytes.toString('latin1'))
      },
      onGone: abandon,
      isAnswerDue: () => this.isAnswerDue(),
      onClear: abandon,
      onTrigger: () => {
        if (this.#powered) this.trigger()
      },
      onInterrupted: () => {
        if (this.#powered) this.interrupted()
      },
      statusByte: (messageAvailable) => (this.#powered ? this.statusByte(messageAvailable) : 0),
    })
  }

  get powered(): boolean {
    return this.#powered
  }

  powerOn(): void {
    if (this.#powered) return
    this.#powered = true
    this.powerUp()
  }

  /** Settings and everything under way are lost. */
  powerOff(): void {
    this.#powered = false
    for (const timer of this.#timers) timer.dispose()
    this.#timers.clear()
    this.#answers.clear()
    this.forget()
  }

  async close(): Promise<void> {
    this.powerOff()
    await this.port.close()
  }

  /** Whether its answers are text, which faults can spoil as text. */
  readonly hasText: boolean = true

  /** Whether errors can be put into a queue from outside, with fail(). */
  readonly hasErrorQueue: boolean = false

  fail(_number: number, _text: string): void {}

  /** What a serial poll reads: message available is bit 4 (IEEE 488.2, 11.2.1; number from memory). */
  protected statusByte(messageAvailable: boolean): number {
    return messageAvailable ? 16 : 0
  }

  /** Group execute trigger; nothing where the instrument has no trigger. */
  protected trigger(): void {}

  /** An answer was thrown away unread because another message came. */
  protected interrupted(): void {}

  /** Whatever it does later it may do in order to answer. */
  protected isAnswerDue(): boolean {
    return this.#timers.size > 0
  }

  /** Settings as after power-up. */
  protected abstract powerUp(): void
  protected abstract receive(text: string): void
  /** Half-received lines and answers still to be given are void. */
  protected abstract forget(): void

  /** Sends a reply now, or what the faults make of it. */
  protected send(text: string, received: string, terminator = this.terminator): void {
    for (const { afterMs, text: bytes } of this.desk.deliver(text, terminator, received)) {
      if (afterMs > 0) this.answerLater(afterMs, () => this.port.write(bytes))
      else this.port.write(bytes)
    }
  }

  /** Runs later, unless the power or the client goes first. */
  protected answerLater(ms: number, act: () => void): void {
    const timer = this.later(ms, () => {
      this.#answers.delete(answer)
      act()
    })
    const answer = {
      dispose: () => {
        this.#answers.delete(answer)
        timer.dispose()
      },
    }
    this.#answers.add(answer)
  }

  /** Runs later, unless the power goes first. */
  protected later(ms: number, act: () => void): Disposable {
    const timer = this.clock.after(ms, () => {
      this.#timers.delete(timer)
      act()
      this.port.finishIfDone()
    })
    this.#timers.add(timer)
    return {
      dispose: () => {
        this.#timers.delete(timer)
        timer.dispose()
      },
    }
  }
}
