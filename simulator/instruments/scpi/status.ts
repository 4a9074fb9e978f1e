import { EVENT, eventBit, SCPI_ERRORS, type ScpiErrorNumber } from './errors.ts'

const QUEUE_LENGTH = 16

/** A pair of condition and event registers; an event bit is set when its condition bit rises. */
export class ConditionRegister {
  #event = 0
  #seen = 0
  enable = 0
  readonly #condition: () => number

  constructor(condition: () => number) {
    this.#condition = condition
  }

  condition(): number {
    const now = this.#condition()
    this.#event |= now & ~this.#seen
    this.#seen = now
    return now
  }

  takeEvent(): number {
    this.condition()
    const taken = this.#event
    this.#event = 0
    return taken
  }

  get summary(): boolean {
    this.condition()
    return (this.#event & this.enable) !== 0
  }

  clear(): void {
    this.condition()
    this.#event = 0
  }
}

/** Status reporting of IEEE 488.2 and the error queue of SCPI. */
export class Status {
  readonly operation: ConditionRegister
  readonly questionable: ConditionRegister
  eventEnable = 0
  serviceEnable = 0
  #events: number = EVENT.PON
  readonly #queue: { number: number; text: string }[] = []

  constructor(operation: () => number, questionable: () => number) {
    this.operation = new ConditionRegister(operation)
    this.questionable = new ConditionRegister(questionable)
  }

  raise(bit: number): void {
    this.#events |= bit
  }

  takeEvents(): number {
    const taken = this.#events
    this.#events = 0
    return taken
  }

  error(number: number, text: string = SCPI_ERRORS[number as ScpiErrorNumber] ?? ''): void {
    this.raise(eventBit(number))
    if (this.#queue.length < QUEUE_LENGTH) this.#queue.push({ number, text })
    else this.#queue[QUEUE_LENGTH - 1] = { number: -350, text: SCPI_ERRORS[-350] }
  }

  nextError(): { number: number; text: string } {
    return this.#queue.shift() ?? { number: 0, text: 'No error' }
  }

  get errorCount(): number {
    return this.#queue.length
  }

  /** The status byte as *STB? reads it. */
  byte(messageAvailable: boolean): number {
    let byte = 0
    if (this.#queue.length > 0) byte |= 4
    if (this.questionable.summary) byte |= 8
    if (messageAvailable) byte |= 16
    if ((this.#events & this.eventEnable) !== 0) byte |= 32
    if (this.operation.summary) byte |= 128
    if ((byte & this.serviceEnable & ~64) !== 0) byte |= 64
    return byte
  }

  clear(): void {
    this.#events = 0
    this.#queue.length = 0
    this.operation.clear()
    this.questionable.clear()
  }
}
