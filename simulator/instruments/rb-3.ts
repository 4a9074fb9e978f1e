import type { Source, Switch } from '../physics/circuit.ts'
import { byteSum } from './checksums.ts'
import { LabInstrument } from './instrument.ts'
import { LineCutter } from './lines.ts'
import { ratioSeen } from './ratio.ts'
import type { BridgeParts } from './rb-8.ts'

const INPUTS = 8
const ANSWER_MS = 20
const RELAY_MS = 200
const SINGLE_US = 1_000_000

/** What a line gives: the reply without its checksum, if any, and how long it takes beyond the usual. */
interface Result {
  reply?: string
  takesMs?: number
}

/** An older ratio bridge: echo, prompt, sums on replies, inputs from 0, ready by the status byte. */
export class Rb3 extends LabInstrument implements Source {
  readonly role = 'ratio-bridge'
  readonly profile = 'lab-rb-3'
  readonly inputSwitch: Switch
  currentA = 1e-3
  protected readonly terminator = '\r\n'
  readonly #parts: BridgeParts
  readonly #lines = new LineCutter('\r', 80)
  #busy = false
  #singles = 1
  #lastError = 0
  #poweredUp = true
  #measuring: { fromUs: number; untilUs: number } | undefined
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

  protected override powerUp(): void {
    this.#busy = false
    this.#singles = 1
    this.currentA = 1e-3
    this.#lastError = 0
    this.#poweredUp = true
    this.#stop()
    this.inputSwitch.powerUp()
    this.#connect(0)
    this.send('READY\r\n', '', '>')
  }

  protected override forget(): void {
    this.#lines.clear()
    this.#busy = false
  }

  protected override receive(text: string): void {
    // Without a prompt nobody listens.
    if (this.#busy) return
    for (const line of this.#lines.take(text)) {
      this.#busy = true
      const { reply, takesMs = 0 } = line === undefined ? this.#refuse(1) : this.#obey(line)
      const echo = `${line ?? ''}\r\n`
      this.answerLater(ANSWER_MS + takesMs, () => {
        this.#busy = false
        this.#lines.clear()
        if (reply === undefined) this.send(echo, line ?? '', '>')
        else this.send(`${echo}${reply}*${byteSum(reply)}`, line ?? '', '\r\n>')
      })
      return
    }
  }

  #obey(line: string): Result {
    const words = line.trim().toUpperCase().split(/\s+/)
    const [command, ...args] = words
    switch (command) {
      case 'ID':
        return { reply: `QUENNICK RB-3 ${this.serial} V3.2` }
      case 'CH':
        return this.#setting(args, `CH=${(this.inputSwitch.closed ?? 1) - 1}`, 0, INPUTS - 1, (n) => {
          this.#connect(Math.round(n))
          return RELAY_MS
        })
      case 'CU':
        return this.#setting(args, `CU=${(this.currentA * 1000).toFixed(4)}`, 0.1, 10, (mA) => {
          this.currentA = mA / 1000
          this.#stop()
          this.#parts.circuit.update()
          return 0
        })
      case 'AV':
        return this.#setting(args, `AV=${this.#singles}`, 1, 32, (n) => {
          this.#singles = Math.round(n)
          return 0
        })
      case 'KW':
        return this.#keepWarm(args)
      case 'GO':
        return this.#go()
      case 'RD':
        return this.#read()
      case '*STB?':
        return { reply: this.#statusByte() }
      case 'ER': {
        const reply = errorCode(this.#lastError)
        this.#lastError = 0
        return { reply }
      }
      default:
        return this.#refuse(1)
    }
  }

  #refuse(error: number): Result {
    this.#lastError = error
    return { reply: errorCode(error) }
  }

  #setting(args: string[], shown: string, low: number, high: number, set: (value: number) => number): Result {
    if (args.length === 0) return { reply: shown }
    const value = plainNumber(args[0])
    if (args.length > 1 || !(value >= low && value <= high)) return this.#refuse(2)
    if (this.#isMeasuring()) return this.#refuse(4)
    return { takesMs: set(value) }
  }

  #keepWarm(args: string[]): Result {
    const [n, mA] = [plainNumber(args[0]), plainNumber(args[1])]
    if (args.length !== 2 || !Number.isInteger(n) || n < 0 || n >= INPUTS || !(mA >= 0 && mA <= 10)) {
      return this.#refuse(2)
    }
    this.inputSwitch.keepWarmA.set(n + 1, mA / 1000)
    this.#parts.circuit.update()
    return {}
  }

  #go(): Result {
    if (this.#isMeasuring()) return this.#refuse(4)
    const fromUs = this.clock.now().monoUs
    this.#measuring = { fromUs, untilUs: fromUs + SINGLE_US * this.#singles }
    this.#value = undefined
    return {}
  }

  #read(): Result {
    this.#finishMeasuring()
    if (this.#value === undefined) return this.#refuse(3)
    const value = this.#value
    this.#value = undefined
    const { circuit } = this.#parts
    const own = circuit.room.ambient.temperature.at(circuit.room.advance()) + 4
    let ratio = `${signed(value, 8, 1)}${this.desk.unit('RAT')}`
    if (Number.isNaN(value)) ratio = 'NOVALUE'
    else if (!Number.isFinite(value)) ratio = 'OVERLOAD'
    return { reply: `${ratio},${signed(this.currentA * 1000, 4, 1)}MA,${signed(own, 2, 3)}DEGC` }
  }

  #statusByte(): string {
    this.#finishMeasuring()
    let byte = 0
    if (this.#value !== undefined) byte |= 16
    if (this.#lastError !== 0) byte |= 4
    if (this.#poweredUp) byte |= 128
    this.#poweredUp = false
    return String(byte).padStart(3, '0')
  }

  #isMeasuring(): boolean {
    return this.#measuring !== undefined && this.#measuring.untilUs > this.clock.now().monoUs
  }

  #finishMeasuring(): void {
    const done = this.#measuring
    if (!done || this.#isMeasuring()) return
    const late = (this.clock.now().monoUs - done.untilUs) / 1e6
    const to = this.#parts.circuit.room.advance() - late
    const path = { ...this.#parts, currentA: this.currentA }
    this.#value = ratioSeen(path, to - (done.untilUs - done.fromUs) / 1e6, to, this.#singles)
    this.#measuring = undefined
  }

  #stop(): void {
    this.#measuring = undefined
    this.#value = undefined
  }

  #connect(input: number): void {
    this.#stop()
    this.inputSwitch.close(input + 1, this.#parts.circuit.room.advance())
    this.#parts.circuit.update()
  }
}

function errorCode(error: number): string {
  return `E${String(error).padStart(2, '0')}`
}

function plainNumber(text: string | undefined): number {
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(text ?? '') ? Number(text) : Number.NaN
}

/** Sign, digits before the point filled up with zeros, fixed decimals. */
function signed(value: number, decimals: number, digits: number): string {
  const text = Math.abs(value).toFixed(decimals)
  return `${value < 0 ? '-' : '+'}${text.padStart(digits + 1 + decimals, '0')}`
}
