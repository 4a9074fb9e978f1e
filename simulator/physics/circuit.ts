import type { Trace } from './grid.ts'
import type { RandomStream } from './randomness.ts'
import type { Room } from './room.ts'

/** What is clamped to an input: a thermometer, a network of resistors, or the common terminals of another switch. */
export type Terminal = { thermometer: string } | { network: string } | { switch: string }

/** What a source drives its current through. */
export interface Clamped {
  readonly design: { readonly id: string }
  currentA: number
  /** Mean resistance between two moments, ohm. */
  meanResistance(fromS: number, toS: number): number
  /** Mean thermal voltage between two moments, mV. */
  meanVoltage(fromS: number, toS: number, junction: Trace): number
}

/** After a switch closes, leads and contacts settle with this time constant, s. */
const CONTACT_SETTLING_S = 0.8

/** A set of inputs of which one at most is connected: a channel scanner, or a bridge's own inputs. */
export class Switch {
  readonly id: string
  readonly inputs: ReadonlyMap<number, Terminal>
  closed: number | undefined
  closedAtS = Number.NEGATIVE_INFINITY
  /** Keep-warm current of waiting inputs, A. */
  readonly keepWarmA = new Map<number, number>()
  /** Contacts that no longer move. */
  stuck = false
  /** Relative error of the signal just after the last closure. */
  contactError = 0
  readonly #stream: RandomStream

  constructor(id: string, inputs: ReadonlyMap<number, Terminal>, stream: RandomStream) {
    this.id = id
    this.inputs = inputs
    this.#stream = stream
  }

  /** Connects an input and no other; false when the contacts did not move. */
  close(input: number, seconds: number): boolean {
    if (this.stuck) return false
    this.closed = input
    this.closedAtS = seconds
    this.contactError = 2e-5 * this.#stream.normal()
    return true
  }

  open(): void {
    if (!this.stuck) this.closed = undefined
  }

  powerUp(): void {
    this.open()
    this.keepWarmA.clear()
  }
}

/** Something that drives a current through whatever its switch connects. */
export interface Source {
  readonly inputSwitch: Switch
  currentA: number
}

export interface Connected {
  body: Clamped
  switches: readonly Switch[]
}

/** All wires of the lab: follows a source to what it reaches and keeps every current up to date. */
export class Circuit {
  readonly room: Room
  readonly #switches = new Map<string, Switch>()
  readonly #sources: Source[] = []

  readonly #truly: (body: string, currentA: number) => number

  /** `truly`: the current that flows through a body where a source is set to one, A. */
  constructor(room: Room, truly: (body: string, currentA: number) => number = (_, currentA) => currentA) {
    this.room = room
    this.#truly = truly
  }

  addSwitch(box: Switch): void {
    this.#switches.set(box.id, box)
  }

  /** The contacts of a scanner, bridge or meter. */
  contactsOf(id: string): Switch | undefined {
    return this.#switches.get(id)
  }

  addSource(source: Source): void {
    this.#sources.push(source)
    this.#switches.set(source.inputSwitch.id, source.inputSwitch)
  }

  /** What a switch reaches, through any cascade; undefined where a contact is open or nothing is clamped. */
  reached(start: Switch): Connected | undefined {
    const switches = [start]
    for (let box = start; ; ) {
      const terminal = box.closed === undefined ? undefined : box.inputs.get(box.closed)
      if (!terminal) return undefined
      if (!('switch' in terminal)) {
        const body = this.#bodyOf(terminal)
        return body && { body, switches }
      }
      const next = this.#switches.get(terminal.switch)
      if (!next || switches.includes(next)) return undefined
      switches.push(next)
      box = next
    }
  }

  /** To be called after every change of a contact or a current: sets the current in every thermometer. */
  update(): void {
    this.room.advance()
    for (const box of this.#switches.values()) {
      for (const [input, terminal] of box.inputs) {
        if ('switch' in terminal) continue
        const body = this.#bodyOf(terminal)
        if (body) body.currentA = box.keepWarmA.get(input) ?? 0
      }
    }
    for (const source of this.#sources) {
      const connected = this.reached(source.inputSwitch)
      if (connected) connected.body.currentA = this.#truly(connected.body.design.id, source.currentA)
    }
  }

  #bodyOf(terminal: Exclude<Terminal, { switch: string }>): Clamped | undefined {
    return 'network' in terminal
      ? this.room.networks.get(terminal.network)
      : this.room.thermometers.get(terminal.thermometer)
  }

  /** Relative error left from contacts that closed lately, averaged between two moments. */
  contactError(connected: Connected, fromS: number, toS: number): number {
    let sum = 0
    for (const box of connected.switches) {
      const after = Math.max(0, fromS - box.closedAtS)
      const span = Math.max(1e-3, toS - fromS)
      const mean = (CONTACT_SETTLING_S / span) * (1 - Math.exp(-span / CONTACT_SETTLING_S))
      sum += box.contactError * Math.exp(-after / CONTACT_SETTLING_S) * mean
    }
    return sum
  }
}
