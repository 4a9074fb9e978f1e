import type { Bath } from '../physics/bath.ts'
import type { Room } from '../physics/room.ts'
import { LabInstrument } from './instrument.ts'
import { LineCutter } from './lines.ts'
import type { BathParts } from './scpi-bath.ts'

const ANSWER_MS = 80
const GAP_US = 40_000

const ERRORS = { 1: 'COMMAND', 2: 'NUMBER', 3: 'RANGE', 4: 'BUSY', 5: 'SENSOR' } as const

class Refusal extends Error {
  constructor(number: keyof typeof ERRORS) {
    super(`ERR ${number} ${ERRORS[number]}`)
    this.name = 'Refusal'
  }
}

/** An older bath controller: two letters, decimal comma, OK, errors in place of the reply. */
export class Tb1 extends LabInstrument {
  readonly role = 'bath'
  readonly profile = 'lab-tb-1'
  protected readonly terminator = '\r\n'
  readonly #room: Room
  readonly #bath: Bath
  readonly #lines = new LineCutter('\r', 40)
  #unit: 'C' | 'F' = 'C'
  #poweredUp = true
  #listensFromUs = 0

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
    this.#unit = 'C'
    this.#poweredUp = true
    this.#listensFromUs = 0
  }

  protected override forget(): void {
    this.#lines.clear()
    this.#listensFromUs = 0
  }

  protected override receive(text: string): void {
    for (const line of this.#lines.take(text)) {
      const now = this.clock.now().monoUs
      const busy = now < this.#listensFromUs
      this.#listensFromUs = now + ANSWER_MS * 1000 + GAP_US
      const reply = busy ? new Refusal(4).message : this.#obey((line ?? '').trim())
      this.answerLater(ANSWER_MS, () => this.send(reply, line ?? ''))
    }
  }

  #obey(line: string): string {
    try {
      this.#room.advance()
      const asked = /^([A-Z]{2})\?$/.exec(line)
      if (asked) return this.#ask(asked[1]!)
      const told = /^([A-Z]{2})=(.+)$/.exec(line)
      if (!told) throw new Refusal(1)
      this.#tell(told[1]!, told[2]!)
      return 'OK'
    } catch (refusal) {
      if (refusal instanceof Refusal) return refusal.message
      throw refusal
    }
  }

  #ask(what: string): string {
    const bath = this.#bath
    switch (what) {
      case 'ID':
        return `ID=QUENNICK TB-1 ${this.serial} V2.3`
      case 'SP':
        return `SP=${comma(this.#shown(bath.setpointC))}${this.#unit}`
      case 'PV': {
        const seen = this.desk.observe(bath.shown(this.#room.advance()) ?? Number.NaN)
        if (!Number.isFinite(seen)) throw new Refusal(5)
        const shown = this.#shown(seen)
        const sign = shown < 0 ? '-' : ' '
        return `PV=${sign}${comma(Math.abs(shown)).padStart(6, '0')}${this.desk.unit(this.#unit)}`
      }
      case 'RA':
        return `RA=${comma(bath.rampKPerMin)}`
      case 'HT':
        return `HT=${bath.on ? 1 : 0}`
      case 'ST':
        return `ST=${this.#statusWord()}`
      default:
        throw new Refusal(1)
    }
  }

  #tell(what: string, text: string): void {
    const bath = this.#bath
    switch (what) {
      case 'SP': {
        const value = number(text)
        const celsius = this.#unit === 'C' ? value : ((value - 32) * 5) / 9
        if (celsius < bath.design.lowC || celsius > bath.design.highC) throw new Refusal(3)
        bath.setpointC = Math.round(celsius * 100) / 100
        return
      }
      case 'RA': {
        const rate = number(text)
        if (rate < 0 || rate > 9.99) throw new Refusal(3)
        bath.rampKPerMin = rate
        return
      }
      case 'HT':
        if (text !== '0' && text !== '1') throw new Refusal(2)
        if (text === '1' && bath.sensorBroken) throw new Refusal(5)
        bath.switch(text === '1')
        return
      case 'UN':
        if (text !== 'C' && text !== 'F') throw new Refusal(2)
        this.#unit = text
        return
      default:
        throw new Refusal(1)
    }
  }

  #shown(celsius: number): number {
    return this.#unit === 'C' ? celsius : (celsius * 9) / 5 + 32
  }

  #statusWord(): string {
    const bath = this.#bath
    let word = 0
    if (bath.on) word |= 1
    if (bath.settling) word |= 2
    if (bath.sensorBroken) word |= 4
    if (bath.tripped) word |= 8
    if (this.#poweredUp) word |= 128
    this.#poweredUp = false
    return word.toString(16).toUpperCase().padStart(4, '0')
  }
}

/** A number with decimal comma and at most two decimals. */
function number(text: string): number {
  if (!/^-?\d{1,3}(,\d{1,2})?$/.test(text)) throw new Refusal(2)
  return Number(text.replace(',', '.'))
}

function comma(value: number): string {
  return value.toFixed(2).replace('.', ',')
}
