import type { Circuit, Source, Switch } from '../physics/circuit.ts'
import type { RatioElectronics } from '../physics/electronics.ts'
import type { ResistorBody } from '../physics/resistor.ts'
import type { InstrumentParts } from './instrument.ts'
import { ratioSeen } from './ratio.ts'
import { ScpiFault } from './scpi/errors.ts'
import type { Command } from './scpi/headers.ts'
import { ScpiInstrument } from './scpi/instrument.ts'
import { nr3 } from './scpi/numbers.ts'

const INPUTS = 4
const SINGLE_US = 500_000
const RELAY_US = 50_000
const FUNCTION = 'FRESistance:RATio'
const AMPERE = { A: 1, MA: 1e-3, UA: 1e-6 }

export interface BridgeParts extends InstrumentParts {
  circuit: Circuit
  inputs: Switch
  electronics: RatioElectronics
  /** The reference resistor at the terminals of each input. */
  resistors: ReadonlyMap<number, ResistorBody>
}

/** Ratio bridge with four inputs, IEEE 488.2 and SCPI-99 throughout. */
export class Rb8 extends ScpiInstrument implements Source {
  readonly role = 'ratio-bridge'
  readonly profile = 'lab-rb-8'
  readonly inputSwitch: Switch
  currentA = 1e-3
  protected readonly model = 'RB-8'
  protected readonly firmware = '1.3'
  protected readonly terminator = '\n'
  readonly #parts: BridgeParts
  #singles = 1
  #measuring: { fromUs: number; untilUs: number; singles: number } | undefined
  #relayUntilUs = 0
  /** The value of the last finished measurement; undefined when there is none or it is stale. */
  #value: number | undefined

  constructor(parts: BridgeParts) {
    super(parts)
    this.#parts = parts
    this.inputSwitch = parts.inputs
  }

  override powerOff(): void {
    super.powerOff()
    this.inputSwitch.powerUp()
    this.#parts.circuit.update()
  }

  protected override reset(): void {
    this.#stop()
    this.inputSwitch.powerUp()
    this.currentA = 1e-3
    this.#singles = 1
    this.#close(1)
  }

  protected override pendingUntilUs(): number {
    return Math.max(this.#relayUntilUs, this.#measuring?.untilUs ?? 0)
  }

  protected override operationCondition(): number {
    return this.#isMeasuring() ? 16 : 0
  }

  protected override commands(): Command[] {
    const current = { low: 1e-6, high: 20e-3, suffixes: AMPERE }
    const input = (a: Parameters<NonNullable<Command['tell']>>[0], index: number) => {
      const channel = a.channel(index)
      if (channel < 1 || channel > INPUTS) throw new ScpiFault(-222)
      return channel
    }
    return [
      {
        header: '[ROUTe:]CLOSe',
        tell: (a) => this.#close(input(a.expect(1), 0)),
        ask: (a) => (this.inputSwitch.closed === input(a.expect(1), 0) ? '1' : '0'),
      },
      { header: '[ROUTe:]CLOSe:STATe', ask: () => `(@${this.inputSwitch.closed ?? ''})` },
      {
        header: '[ROUTe:]OPEN',
        tell: (a) => {
          if (input(a.expect(1), 0) === this.inputSwitch.closed) this.#open()
        },
      },
      { header: '[ROUTe:]OPEN:ALL', tell: () => this.#open() },
      {
        header: 'SOURce:CURRent[:LEVel]',
        tell: (a) => {
          this.currentA = a.expect(1).number(0, current)
          this.#stop()
          this.#parts.circuit.update()
        },
        ask: () => nr3(this.currentA, 7),
      },
      {
        header: 'SOURce:CURRent:KEEP',
        tell: (a) => {
          const ampere = a.expect(2).number(0, { ...current, low: 0 })
          this.inputSwitch.keepWarmA.set(input(a, 1), ampere)
          this.#parts.circuit.update()
        },
        ask: (a) => nr3(this.inputSwitch.keepWarmA.get(input(a.expect(1), 0)) ?? 0, 7),
      },
      {
        header: 'SENSe:AVERage:COUNt',
        tell: (a) => {
          this.#singles = a.expect(1).integer(0, 1, 100)
        },
        ask: () => String(this.#singles),
      },
      {
        header: 'SENSe:FUNCtion',
        tell: (a) => {
          if (a.expect(1).quoted(0).toUpperCase() !== FUNCTION.toUpperCase()) throw new ScpiFault(-222)
        },
        ask: () => `"${FUNCTION}"`,
      },
      { header: 'INITiate[:IMMediate]', tell: () => this.#initiate() },
      { header: 'ABORt', tell: () => this.#abort() },
      { header: 'FETCh', ask: () => this.#fetch() },
      {
        header: 'READ',
        ask: () => {
          this.#abort()
          this.#initiate()
          return this.#fetch()
        },
      },
    ]
  }

  #seconds(): number {
    return this.#parts.circuit.room.advance()
  }

  #close(input: number): void {
    this.#stop()
    this.inputSwitch.close(input, this.#seconds())
    this.#relayUntilUs = this.nowUs + RELAY_US
    this.#parts.circuit.update()
  }

  #open(): void {
    this.#stop()
    this.inputSwitch.open()
    this.#relayUntilUs = this.nowUs + RELAY_US
    this.#parts.circuit.update()
  }

  /** Whatever was measured or is being measured no longer counts. */
  #stop(): void {
    this.#measuring = undefined
    this.#value = undefined
  }

  #isMeasuring(): boolean {
    return this.#measuring !== undefined && this.#measuring.untilUs > this.nowUs
  }

  #abort(): void {
    if (this.#isMeasuring()) this.#measuring = undefined
  }

  #initiate(): void {
    if (this.#isMeasuring()) throw new ScpiFault(-213)
    this.#value = undefined
    const fromUs = Math.max(this.nowUs, this.#relayUntilUs)
    this.#measuring = { fromUs, untilUs: fromUs + SINGLE_US * this.#singles, singles: this.#singles }
  }

  #fetch() {
    if (!this.#measuring && this.#value === undefined) throw new ScpiFault(-230)
    return this.whenDone(() => {
      const done = this.#measuring
      if (done) {
        const seconds = this.#seconds()
        const late = (this.nowUs - done.untilUs) / 1e6
        const to = seconds - late
        const from = to - (done.untilUs - done.fromUs) / 1e6
        this.#value = ratioSeen({ ...this.#parts, currentA: this.currentA }, from, to, done.singles)
        this.#measuring = undefined
      }
      return nr3(this.#value ?? Number.NaN, 10)
    })
  }
}
