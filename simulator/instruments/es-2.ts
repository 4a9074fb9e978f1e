import type { RandomStream } from '../physics/randomness.ts'
import type { Room } from '../physics/room.ts'
import type { EnvironmentParts } from './es-1.ts'
import { type Cell, RegisterInstrument, textWords } from './registers.ts'

/** How often it measures, ms. */
const EVERY_MS = 1000

/** Environment sensor with registers: whole numbers, of two words the low one first. */
export class Es2 extends RegisterInstrument {
  override readonly role = 'environment'
  readonly profile = 'lab-es-2'
  protected readonly model = 'ES-2'
  protected readonly firmware = '1.0'
  readonly #room: Room
  readonly #stream: RandomStream
  readonly #errors: { temperature: number; humidity: number; pressure: number }
  #measured = { celsius: 0, humidity: 0, pressure: 0, atUs: Number.NEGATIVE_INFINITY }

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
    this.#measured.atUs = Number.NEGATIVE_INFINITY
  }

  protected override holding(): readonly Cell[] {
    return [{ address: 0, count: 1, read: () => [1] }]
  }

  protected override input(): readonly Cell[] {
    return [
      {
        address: 0,
        count: 1,
        // 8000 hundredths: no temperature that this sensor measures stands for none.
        read: () => {
          const { celsius } = this.#measure()
          return [Number.isFinite(celsius) ? Math.round(celsius * 100) & 0xffff : 8000]
        },
      },
      { address: 1, count: 1, read: () => [Math.round(this.#measure().humidity * 10)] },
      {
        address: 2,
        count: 2,
        read: () => {
          const pascal = Math.round(this.#measure().pressure * 100)
          return [pascal & 0xffff, pascal >>> 16]
        },
      },
      { address: 16, count: 4, read: () => textWords(this.model, 4) },
      { address: 20, count: 4, read: () => textWords(this.serial, 4) },
    ]
  }

  #measure(): { celsius: number; humidity: number; pressure: number } {
    const nowUs = this.clock.now().monoUs
    if (nowUs - this.#measured.atUs < EVERY_MS * 1000) return this.#measured
    const at = this.#room.advance()
    const { ambient } = this.#room
    const noise = (size: number) => size * this.#stream.normal()
    this.#measured = {
      celsius: this.desk.observe(ambient.temperature.at(at) + this.#errors.temperature + noise(0.01)),
      humidity: ambient.humidity.at(at) + this.#errors.humidity + noise(0.05),
      pressure: ambient.pressure.at(at) + this.#errors.pressure + noise(0.02),
      atUs: nowUs,
    }
    return this.#measured
  }
}
