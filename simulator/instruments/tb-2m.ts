import type { Bath } from '../physics/bath.ts'
import type { Room } from '../physics/room.ts'
import { type Cell, floatOf, floatWords, RegisterInstrument, textWords } from './registers.ts'
import type { BathParts } from './scpi-bath.ts'

/** The bath controller TB-2 as it is built for Modbus: the same bath behind registers. */
export class Tb2m extends RegisterInstrument {
  override readonly role = 'bath'
  readonly profile = 'lab-tb-2m'
  protected readonly model = 'TB-2M'
  protected readonly firmware = '1.2'
  readonly #room: Room
  readonly #bath: Bath
  #poweredUp = true

  constructor(parts: BathParts) {
    super(parts)
    this.#room = parts.room
    this.#bath = parts.bath
  }

  override powerOff(): void {
    super.powerOff()
    this.#room.advance()
    this.#bath.switch(false)
  }

  protected override powerUp(): void {
    this.#room.advance()
    this.#bath.powerUp()
    this.#poweredUp = true
  }

  protected override input(): readonly Cell[] {
    const bath = this.#bath
    return [
      {
        address: 0,
        count: 2,
        read: () => {
          const shown = bath.shown(this.#room.advance()) ?? Number.NaN
          return floatWords(Math.round(this.desk.observe(shown) * 1000) / 1000)
        },
      },
      {
        address: 2,
        count: 1,
        read: () => {
          this.#room.advance()
          return [Math.round((1000 * bath.powerW) / bath.design.heaterW)]
        },
      },
      { address: 3, count: 1, read: () => [this.#state()] },
      { address: 16, count: 4, read: () => textWords(this.model, 4) },
      { address: 20, count: 4, read: () => textWords(this.serial, 4) },
      { address: 24, count: 2, read: () => textWords(this.firmware, 2) },
    ]
  }

  protected override holding(): readonly Cell[] {
    const bath = this.#bath
    return [
      {
        address: 0,
        count: 2,
        read: () => floatWords(bath.setpointC),
        write: (words) => {
          const celsius = floatOf(words)
          if (!(celsius >= bath.design.lowC && celsius <= bath.design.highC)) return false
          this.#room.advance()
          bath.setpointC = Math.round(celsius * 1000) / 1000
          return true
        },
      },
      {
        address: 2,
        count: 1,
        read: () => [Math.round(bath.rampKPerMin * 100)],
        write: ([hundredths = 0]) => {
          if (hundredths > 2000) return false
          bath.rampKPerMin = hundredths / 100
          return true
        },
      },
      {
        address: 3,
        count: 1,
        read: () => {
          this.#room.advance()
          return [bath.on ? 1 : 0]
        },
        write: ([on = 0]) => {
          this.#room.advance()
          if (on > 1 || (on === 1 && (bath.sensorBroken || bath.tripped))) return false
          bath.switch(on === 1)
          return true
        },
      },
    ]
  }

  /** On, settling, sensor broken, tripped; bit 7 until it was read once after switching on. */
  #state(): number {
    this.#room.advance()
    const bath = this.#bath
    let word = this.#poweredUp ? 128 : 0
    this.#poweredUp = false
    if (bath.on) word |= 1
    if (bath.settling) word |= 2
    if (bath.sensorBroken) word |= 4
    if (bath.tripped) word |= 8
    return word
  }
}
