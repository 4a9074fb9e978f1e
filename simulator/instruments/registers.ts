import { EXCEPTION, FUNCTION, IS_EXCEPTION, MOST_READ, MOST_WRITTEN, words } from '../../app/buses/modbus.ts'
import { bytesOf, textOf } from '../../app/buses/packets.ts'
import type { InstrumentRole } from '../../app/instruments/faces.ts'
import { LabInstrument } from './instrument.ts'

class Refusal extends Error {
  readonly code: number
  constructor(code: number) {
    super(`exception ${code}`)
    this.code = code
  }
}

/** Words of the registers of one table: read at an address, and where it may be, written. */
export interface Cell {
  readonly address: number
  readonly count: number
  read(): readonly number[]
  /** Takes the words, or refuses a value beyond its limits by false. */
  write?(words: readonly number[]): boolean
}

/** A device of the lab that has registers in place of a language (Modbus Application Protocol V1.1b3; from memory). */
export abstract class RegisterInstrument extends LabInstrument {
  abstract override readonly role: InstrumentRole
  protected readonly terminator = ''
  override readonly hasText = false
  /** How long it takes to answer, ms. */
  protected readonly answerMs: number = 15
  protected abstract readonly model: string
  protected abstract readonly firmware: string
  protected abstract holding(): readonly Cell[]
  protected abstract input(): readonly Cell[]

  protected override forget(): void {}

  protected override receive(text: string): void {
    const bytes = bytesOf(text)
    const pdu = bytes.subarray(2)
    let reply: Uint8Array
    try {
      reply = this.#obey(pdu)
    } catch (refusal) {
      if (!(refusal instanceof Refusal)) throw refusal
      reply = Uint8Array.from([pdu[0]! | IS_EXCEPTION, refusal.code])
    }
    const answer = () => this.send(text.slice(0, 2) + textOf(reply), '')
    if (this.answerMs === 0) answer()
    else this.answerLater(this.answerMs, answer)
  }

  #obey(pdu: Uint8Array): Uint8Array {
    const view = new DataView(pdu.buffer, pdu.byteOffset, pdu.length)
    const at = (index: number) => {
      if (index + 2 > pdu.length) throw new Refusal(EXCEPTION.value)
      return view.getUint16(index)
    }
    switch (pdu[0]) {
      case FUNCTION.readHolding:
      case FUNCTION.readInput: {
        const [address, count] = [at(1), at(3)]
        if (count < 1 || count > MOST_READ) throw new Refusal(EXCEPTION.value)
        const cells = pdu[0] === FUNCTION.readHolding ? this.holding() : this.input()
        const values = words(0, readCells(cells, address, count)).subarray(1)
        return Uint8Array.from([pdu[0], values.length, ...values])
      }
      case FUNCTION.writeSingle:
        this.#write(at(1), [at(3)])
        return pdu.slice(0, 5)
      case FUNCTION.writeMultiple: {
        const [address, count] = [at(1), at(3)]
        if (count < 1 || count > MOST_WRITTEN || pdu[5] !== 2 * count || pdu.length !== 6 + 2 * count)
          throw new Refusal(EXCEPTION.value)
        this.#write(
          address,
          Array.from({ length: count }, (_, i) => at(6 + 2 * i)),
        )
        return pdu.slice(0, 5)
      }
      case FUNCTION.deviceIdentification:
        return this.#identify(pdu)
      default:
        throw new Refusal(EXCEPTION.function)
    }
  }

  /** Every value is written whole or not at all. */
  #write(address: number, values: readonly number[]): void {
    const cells = this.holding()
    const end = address + values.length
    const met = cells.filter((cell) => cell.address < end && cell.address + cell.count > address)
    const whole = met.every((cell) => cell.address >= address && cell.address + cell.count <= end)
    const covered = met.reduce((sum, { count }) => sum + count, 0)
    if (!whole || covered !== values.length || met.some(({ write }) => write === undefined))
      throw new Refusal(EXCEPTION.address)
    for (const cell of met) {
      const from = cell.address - address
      if (cell.write?.(values.slice(from, from + cell.count)) !== true) throw new Refusal(EXCEPTION.value)
    }
  }

  /** Basic device identification: maker, model, version (V1.1b3, 6.21; from memory). */
  #identify(pdu: Uint8Array): Uint8Array {
    const [, mei, category = 0] = pdu
    if (mei !== 14 || category < 1 || category > 4) throw new Refusal(EXCEPTION.function)
    const objects = ['QUENNICK', this.model, this.firmware]
    const bytes = [FUNCTION.deviceIdentification, 14, category, 1, 0, 0, objects.length]
    for (const [id, text] of objects.entries()) bytes.push(id, text.length, ...bytesOf(text))
    return Uint8Array.from(bytes)
  }
}

/** The words from an address on; an address where nothing stands is refused. */
function readCells(cells: readonly Cell[], address: number, count: number): number[] {
  const values = new Map<number, number>()
  for (const cell of cells) {
    if (cell.address >= address + count || cell.address + cell.count <= address) continue
    cell.read().forEach((word, i) => {
      values.set(cell.address + i, word)
    })
  }
  return Array.from({ length: count }, (_, i) => {
    const word = values.get(address + i)
    if (word === undefined) throw new Refusal(EXCEPTION.address)
    return word
  })
}

/** A single-precision number, high word first. */
export function floatWords(value: number): number[] {
  const view = new DataView(new ArrayBuffer(4))
  view.setFloat32(0, value)
  return [view.getUint16(0), view.getUint16(2)]
}

export function floatOf([high = 0, low = 0]: readonly number[]): number {
  const view = new DataView(new ArrayBuffer(4))
  view.setUint16(0, high)
  view.setUint16(2, low)
  return view.getFloat32(0)
}

/** A text in so many registers, two characters each. */
export function textWords(text: string, count: number): number[] {
  const padded = text.padEnd(2 * count, '\0')
  return Array.from(
    { length: count },
    (_, i) => (padded.charCodeAt(2 * i) << 8) | padded.charCodeAt(2 * i + 1),
  )
}
