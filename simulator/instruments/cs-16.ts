import type { Circuit, Switch } from '../physics/circuit.ts'
import type { InstrumentParts } from './instrument.ts'
import { ScpiFault } from './scpi/errors.ts'
import type { Command } from './scpi/headers.ts'
import { ScpiInstrument } from './scpi/instrument.ts'
import type { Args } from './scpi/message.ts'
import { nr3 } from './scpi/numbers.ts'

const PER_SLOT = 16
const RELAY_US = 20_000

export interface ScannerParts extends InstrumentParts {
  circuit: Circuit
  inputs: Switch
  /** Slots fitted with 16 inputs each, 1 to 6. */
  slots: number
}

/** Channel scanner with 16 inputs per slot; channel slot*100 + n carries input (slot - 1)*16 + n. */
export class Cs16 extends ScpiInstrument {
  readonly role = 'scanner'
  readonly profile = 'lab-cs-16'
  protected readonly model = 'CS-16'
  protected readonly firmware = '2.0'
  protected readonly terminator = '\r\n'
  protected override readonly noError = '+0'
  readonly #inputs: Switch
  readonly #circuit: Circuit
  readonly #slots: number
  #relayUntilUs = 0

  constructor(parts: ScannerParts) {
    super(parts)
    this.#inputs = parts.inputs
    this.#circuit = parts.circuit
    this.#slots = parts.slots
  }

  override powerOff(): void {
    super.powerOff()
    this.#inputs.powerUp()
    this.#circuit.update()
  }

  protected override reset(): void {
    this.#inputs.powerUp()
    this.#circuit.update()
  }

  protected override pendingUntilUs(): number {
    return this.#relayUntilUs
  }

  protected override commands(): Command[] {
    return [
      {
        header: '[ROUTe:]CLOSe',
        tell: (a) => {
          this.#inputs.close(this.#input(a.expect(1), 0), this.#circuit.room.advance())
          this.#moved()
        },
        ask: (a) => (this.#inputs.closed === this.#input(a.expect(1), 0) ? '1' : '0'),
      },
      { header: '[ROUTe:]CLOSe:STATe', ask: () => `(@${this.#channel(this.#inputs.closed)})` },
      {
        header: '[ROUTe:]OPEN',
        tell: (a) => {
          if (this.#input(a.expect(1), 0) === this.#inputs.closed) this.#open()
        },
      },
      { header: '[ROUTe:]OPEN:ALL', tell: () => this.#open() },
      {
        header: 'SOURce:CURRent:KEEP',
        tell: (a) => {
          const limits = { low: 0, high: 10e-3, suffixes: { A: 1, MA: 1e-3, UA: 1e-6 } }
          const ampere = a.expect(2).number(0, limits)
          this.#inputs.keepWarmA.set(this.#input(a, 1), ampere)
          this.#circuit.update()
        },
        ask: (a) => nr3(this.#inputs.keepWarmA.get(this.#input(a.expect(1), 0)) ?? 0, 7),
      },
      {
        header: 'SYSTem:CTYPe',
        ask: (a) => (a.expect(1).integer(0, 1, 6) <= this.#slots ? 'QUENNICK,CS-16-M,0,0' : 'NONE,0,0,0'),
      },
    ]
  }

  #open(): void {
    this.#inputs.open()
    this.#moved()
  }

  #moved(): void {
    this.#relayUntilUs = this.nowUs + RELAY_US
    this.#circuit.update()
  }

  #input(args: Args, index: number): number {
    const channel = args.channel(index)
    const slot = Math.floor(channel / 100)
    const n = channel % 100
    if (slot < 1 || slot > this.#slots || n < 1 || n > PER_SLOT) throw new ScpiFault(-222)
    return (slot - 1) * PER_SLOT + n
  }

  #channel(input: number | undefined): string {
    if (input === undefined) return ''
    return String((Math.floor((input - 1) / PER_SLOT) + 1) * 100 + ((input - 1) % PER_SLOT) + 1)
  }
}
