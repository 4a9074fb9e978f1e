import type { RandomStream } from '../physics/randomness.ts'
import type { Room } from '../physics/room.ts'
import { negatedSum } from './checksums.ts'
import { type InstrumentParts, LabInstrument } from './instrument.ts'

const EVERY_MS = 10_000

export interface EnvironmentParts extends InstrumentParts {
  room: Room
  stream: RandomStream
}

/** Environment sensor that talks by itself and listens to nothing. */
export class Es1 extends LabInstrument {
  readonly role = 'environment'
  readonly profile = 'lab-es-1'
  protected readonly terminator = '\x03'
  readonly #room: Room
  readonly #stream: RandomStream
  readonly #errors: { temperature: number; humidity: number; pressure: number }
  #count = 0

  constructor(parts: EnvironmentParts) {
    super(parts)
    this.#room = parts.room
    this.#stream = parts.stream
    this.#errors = {
      temperature: 0.1 * parts.stream.normal(),
      humidity: 1 * parts.stream.normal(),
      pressure: 0.3 * parts.stream.normal(),
    }
  }

  protected override powerUp(): void {
    this.#count = 0
    this.#talk()
  }

  protected override receive(): void {}

  protected override forget(): void {}

  protected override isAnswerDue(): boolean {
    return false
  }

  #talk(): void {
    this.#count = (this.#count + 1) % 100_000
    this.later(EVERY_MS, () => this.#talk())
    if (!this.port.connected) return
    const at = this.#room.advance()
    const { ambient } = this.#room
    const noise = (size: number) => size * this.#stream.normal()
    const celsius = this.desk.observe(ambient.temperature.at(at) + this.#errors.temperature + noise(0.01))
    const humidity = ambient.humidity.at(at) + this.#errors.humidity + noise(0.05)
    const pressure = ambient.pressure.at(at) + this.#errors.pressure + noise(0.02)
    const shown = Number.isFinite(celsius) ? `${celsius < 0 ? '' : '+'}${celsius.toFixed(2)}` : '----'
    const count = String(this.#count).padStart(5, '0')
    const text = `ES-1,${this.serial},${count},${shown}${this.desk.unit('C')},${humidity.toFixed(1)}%,${pressure.toFixed(2)}hPa`
    this.send(`\x02${text}*${negatedSum(text)}`, '')
  }
}
