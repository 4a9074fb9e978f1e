import type { Disposable } from '../../app/base/clock.ts'
import type { Circuit, Source, Switch } from '../physics/circuit.ts'
import type { MeterElectronics } from '../physics/electronics.ts'
import type { Trace } from '../physics/grid.ts'
import type { InstrumentParts } from './instrument.ts'
import { ScpiFault } from './scpi/errors.ts'
import type { Command, Outcome } from './scpi/headers.ts'
import { ScpiInstrument } from './scpi/instrument.ts'
import { nr3 } from './scpi/numbers.ts'

const READING_US = 200_000
const ENQ = '\x05'

/** Ranges with the measuring current of each, A; voltages in V. */
const OHM_RANGES = [
  { top: 100, currentA: 1e-3 },
  { top: 1e3, currentA: 1e-3 },
  { top: 10e3, currentA: 1e-4 },
  { top: 100e3, currentA: 1e-5 },
] as const
const VOLT_RANGES = [{ top: 0.1 }, { top: 1 }, { top: 10 }] as const

export interface MeterParts extends InstrumentParts {
  circuit: Circuit
  inputs: Switch
  ohms: MeterElectronics
  volts: MeterElectronics
  /** Temperature of the reference junction of thermocouples clamped to it. */
  junction: Trace
}

/** Meter for resistance and voltage: units in the replies, blocks, a trigger, and replies kept until read when asked. */
export class Dm7 extends ScpiInstrument implements Source {
  readonly role = 'meter'
  readonly profile = 'lab-dm-7'
  readonly inputSwitch: Switch
  protected readonly model = 'DM-7'
  protected readonly firmware = '3.0'
  protected readonly terminator = '\n'
  readonly #parts: MeterParts
  #function: 'FRES' | 'VOLT' = 'FRES'
  #ohmRange: (typeof OHM_RANGES)[number] = OHM_RANGES[1]
  #voltRange: (typeof VOLT_RANGES)[number] = VOLT_RANGES[0]
  #singles = 1
  #trigger: 'IMM' | 'BUS' = 'IMM'
  #count = 1
  /** Readings still to be triggered. */
  #armed = 0
  #measuring: { fromUs: number; untilUs: number; timer: Disposable } | undefined
  #values: string[] = []
  #hold = false
  #kept: string | undefined

  constructor(parts: MeterParts) {
    super(parts, 'any')
    this.#parts = parts
    this.inputSwitch = parts.inputs
  }

  get currentA(): number {
    return this.#function === 'FRES' ? this.#ohmRange.currentA : 0
  }

  override powerOff(): void {
    super.powerOff()
    this.inputSwitch.powerUp()
    this.#parts.circuit.update()
  }

  protected override reset(): void {
    this.#forgetValues()
    this.#function = 'FRES'
    this.#ohmRange = OHM_RANGES[1]
    this.#voltRange = VOLT_RANGES[0]
    this.#singles = 1
    this.#trigger = 'IMM'
    this.#count = 1
    this.#hold = false
    this.#kept = undefined
    this.#choose(1)
  }

  protected override pendingUntilUs(): number {
    if (!this.#measuring) return 0
    const left = this.#trigger === 'IMM' ? this.#armed : 0
    return this.#measuring.untilUs + left * READING_US * this.#singles
  }

  protected override operationCondition(): number {
    return (this.#measuring ? 16 : 0) | (!this.#measuring && this.#armed > 0 ? 32 : 0)
  }

  protected override forget(): void {
    super.forget()
    this.#kept = undefined
  }

  protected override receive(text: string): void {
    // ENQ is a read and may stand between lines.
    for (const [i, part] of text.split(ENQ).entries()) {
      if (i > 0) this.#read()
      if (part === '') continue
      if (this.#kept !== undefined && part.trim() !== '') {
        this.#kept = undefined
        this.status.error(-410)
      }
      super.receive(part)
    }
  }

  protected override answer(text: string, received: string): void {
    if (this.#hold) this.#kept = text
    else this.send(text, received)
  }

  protected override commands(): Command[] {
    const choose = (name: 'FRES' | 'VOLT') => () => {
      this.#forgetValues()
      this.#function = name
      this.#parts.circuit.update()
    }
    return [
      { header: 'CONFigure:FRESistance', tell: choose('FRES') },
      { header: 'CONFigure:VOLTage', tell: choose('VOLT') },
      { header: 'CONFigure', ask: () => `"${this.#function}"` },
      {
        header: 'ROUTe:TERMinals',
        tell: (a) => this.#choose(a.expect(1).word(0, ['FRONt', 'REAR']) === 'REAR' ? 2 : 1),
        ask: () => (this.inputSwitch.closed === 2 ? 'REAR' : 'FRON'),
      },
      {
        header: 'SENSe:FRESistance:RANGe',
        tell: (a) => {
          const value = a.expect(1).number(0, { low: 0, high: 100e3, suffixes: { OHM: 1, KOHM: 1e3 } })
          this.#ohmRange = OHM_RANGES.find(({ top }) => value <= top) ?? OHM_RANGES[3]
          this.#forgetValues()
          this.#parts.circuit.update()
        },
        ask: () => nr3(this.#ohmRange.top, 4),
      },
      {
        header: 'SENSe:VOLTage:RANGe',
        tell: (a) => {
          const value = a.expect(1).number(0, { low: 0, high: 10, suffixes: { V: 1, MV: 1e-3 } })
          this.#voltRange = VOLT_RANGES.find(({ top }) => value <= top) ?? VOLT_RANGES[2]
          this.#forgetValues()
        },
        ask: () => nr3(this.#voltRange.top, 4),
      },
      {
        header: 'SENSe:AVERage:COUNt',
        tell: (a) => {
          this.#singles = a.expect(1).integer(0, 1, 100)
        },
        ask: () => String(this.#singles),
      },
      { header: 'SOURce:CURRent[:LEVel]', ask: () => nr3(this.currentA, 7) },
      {
        header: 'TRIGger:SOURce',
        tell: (a) => {
          this.#trigger = a.expect(1).word(0, ['IMMediate', 'BUS']) === 'BUS' ? 'BUS' : 'IMM'
        },
        ask: () => this.#trigger,
      },
      {
        header: 'TRIGger:COUNt',
        tell: (a) => {
          this.#count = a.expect(1).integer(0, 1, 100)
        },
        ask: () => String(this.#count),
      },
      { header: 'INITiate[:IMMediate]', tell: () => this.#initiate() },
      { header: 'ABORt', tell: () => this.#abort() },
      { header: '*TRG', tell: () => this.#triggerNow() },
      { header: 'FETCh', ask: () => this.#fetch((values) => values.at(-1)!) },
      {
        header: 'TRACe:DATA',
        ask: () => this.#fetch((values) => block(values.join('\n'))),
      },
      {
        header: 'SYSTem:COMMunicate:HOLD',
        tell: (a) => {
          this.#hold = a.expect(1).boolean(0)
        },
        ask: () => (this.#hold ? '1' : '0'),
      },
    ]
  }

  #read(): void {
    const kept = this.#kept
    this.#kept = undefined
    if (kept === undefined) this.status.error(-420)
    else this.send(kept, '')
  }

  #choose(input: number): void {
    this.#forgetValues()
    this.inputSwitch.close(input, this.#parts.circuit.room.advance())
    this.#parts.circuit.update()
  }

  #abort(): void {
    this.#armed = 0
    this.#measuring?.timer.dispose()
    this.#measuring = undefined
  }

  #forgetValues(): void {
    this.#abort()
    this.#values = []
  }

  #initiate(): void {
    if (this.#measuring || this.#armed > 0) throw new ScpiFault(-213)
    this.#values = []
    this.#armed = this.#count
    if (this.#trigger === 'IMM') this.#start()
  }

  #triggerNow(): void {
    if (this.#measuring || this.#armed === 0 || this.#trigger !== 'BUS') throw new ScpiFault(-211)
    this.#start()
  }

  #start(): void {
    this.#armed -= 1
    const fromUs = this.nowUs
    const lengthUs = READING_US * this.#singles
    const timer = this.later(lengthUs / 1000, () => this.#done())
    this.#measuring = { fromUs, untilUs: fromUs + lengthUs, timer }
  }

  #done(): void {
    this.#measuring = undefined
    const to = this.#parts.circuit.room.advance()
    this.#values.push(this.#reading(to - (READING_US * this.#singles) / 1e6, to))
    if (this.#armed > 0 && this.#trigger === 'IMM') this.#start()
  }

  #reading(from: number, to: number): string {
    const { circuit, ohms, volts, junction, desk } = this.#parts
    const connected = circuit.reached(this.inputSwitch)
    const isOhm = this.#function === 'FRES'
    const text = (value: number) => `${nr3(value, isOhm ? 8 : 7)} ${desk.unit(isOhm ? 'OHM' : 'V')}`
    const body = connected?.body
    if (!connected || !body) return text(desk.observe(Number.NaN))
    const settled = 1 + circuit.contactError(connected, from, to)
    const top = isOhm ? this.#ohmRange.top : this.#voltRange.top
    const signal = isOhm ? body.meanResistance(from, to) : body.meanVoltage(from, to, junction) / 1000
    const noise = isOhm ? 2e-8 / this.#ohmRange.currentA : 5e-8 + 1e-7 * top
    const shown = (isOhm ? ohms : volts).indicate(signal * settled, noise, this.#singles)
    const observed = desk.observe(shown, body.design.id)
    if (observed > 1.2 * top) return text(Number.POSITIVE_INFINITY)
    return text(observed < -1.2 * top ? Number.NEGATIVE_INFINITY : observed)
  }

  #fetch(form: (values: readonly string[]) => string): Outcome {
    const waitsForBus = this.#trigger === 'BUS' && !this.#measuring
    if (this.#values.length === 0 && (waitsForBus || !this.#measuring)) throw new ScpiFault(-230)
    return this.whenDone(() => {
      if (this.#values.length === 0) throw new ScpiFault(-230)
      return form(this.#values)
    })
  }
}

/** Definite-length block of IEEE 488.2. */
function block(text: string): string {
  const length = String(text.length)
  return `#${length.length}${length}${text}`
}
