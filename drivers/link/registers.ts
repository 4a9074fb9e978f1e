import { timesPowerOfTen } from '../language/numbers.ts'

/** Where a value stands in a Modbus device, and how it is written there. */
export interface RegisterRule {
  readonly table: 'holding' | 'input'
  /** As it goes over the line: the first register is 0. */
  readonly address: number
  readonly type: 'uint16' | 'int16' | 'uint32' | 'int32' | 'float32' | 'text'
  /** Of two words, which one has the lower address. */
  readonly words: 'high-first' | 'low-first'
  /** Registers of a text. */
  readonly length: number
  /** The value is the number in the register times ten to this. */
  readonly power: number
}

/** Two words on their way from or to a number; one for all, since thousands are read a second. */
const SCRATCH = new DataView(new ArrayBuffer(4))

/** How many registers it takes. */
export function countOf({ type, length }: RegisterRule): number {
  if (type === 'text') return length
  return type === 'uint16' || type === 'int16' ? 1 : 2
}

/** The value as decimal text: every digit of an integer, the shortest text of a binary number; NaN and infinities in words. */
export function readRegisters(rule: RegisterRule, words: readonly number[]): string {
  if (rule.type === 'text') return textOf(words)
  return scaled(numberOf(rule, words), rule.power)
}

/** The registers of a value given as decimal text; undefined where it does not fit without loss. */
export function writeRegisters(rule: RegisterRule, text: string): number[] | undefined {
  const value = Number(timesPowerOfTen(text, -rule.power))
  if (rule.type === 'text' || text.trim() === '' || !Number.isFinite(value)) return undefined
  const view = SCRATCH
  switch (rule.type) {
    case 'uint16':
    case 'int16': {
      const [low, high] = rule.type === 'int16' ? [-0x8000, 0x7fff] : [0, 0xffff]
      const whole = wholeWithin(value, low, high)
      return whole === undefined ? undefined : [whole & 0xffff]
    }
    case 'uint32':
    case 'int32': {
      const [low, high] = rule.type === 'int32' ? [-(2 ** 31), 2 ** 31 - 1] : [0, 2 ** 32 - 1]
      const whole = wholeWithin(value, low, high)
      if (whole === undefined) return undefined
      view.setUint32(0, whole >>> 0)
      break
    }
    case 'float32':
      view.setFloat32(0, value)
      if (!Number.isFinite(view.getFloat32(0))) return undefined
      break
  }
  const pair = [view.getUint16(0), view.getUint16(2)]
  return rule.words === 'high-first' ? pair : pair.reverse()
}

function numberOf(rule: RegisterRule, words: readonly number[]): string {
  const [first = 0, second = 0] = words
  const view = SCRATCH
  const [high, low] = rule.words === 'high-first' ? [first, second] : [second, first]
  view.setUint16(0, high)
  view.setUint16(2, low)
  switch (rule.type) {
    case 'uint16':
      return String(first)
    case 'int16':
      return String((first << 16) >> 16)
    case 'uint32':
      return String(view.getUint32(0))
    case 'int32':
      return String(view.getInt32(0))
    default:
      return shortest(view.getFloat32(0))
  }
}

/** The shortest decimal text that is this single-precision number (IEEE 754: nine digits are always enough). */
function shortest(value: number): string {
  if (!Number.isFinite(value)) return String(value)
  for (let digits = 7; digits < 9; digits++) {
    const number = Number(value.toPrecision(digits))
    if (Math.fround(number) === value) return String(number)
  }
  return String(Number(value.toPrecision(9)))
}

/** Moves the point by text, so that no digit changes. */
function scaled(text: string, power: number): string {
  const match = /^(-?)(\d+)$/.exec(text)
  if (match === null || power >= 0) return timesPowerOfTen(text, power)
  const digits = match[2]!.padStart(1 - power, '0')
  return `${match[1]}${digits.slice(0, power)}.${digits.slice(power)}`
}

function wholeWithin(value: number, low: number, high: number): number | undefined {
  const whole = Math.round(value)
  // A setting that was rounded to the register's step before is off by the rounding of a power of ten only.
  if (Math.abs(value - whole) > 1e-6 * Math.max(1, Math.abs(value))) return undefined
  return whole >= low && whole <= high ? whole : undefined
}

/** Two characters a register, the first in the high byte, padded with NUL or blanks (common practice, no source). */
function textOf(words: readonly number[]): string {
  return String.fromCharCode(...words.flatMap((word) => [word >> 8, word & 0xff])).replace(/[\0 ]+$/, '')
}
