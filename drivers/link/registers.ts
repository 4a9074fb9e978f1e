import { at } from '../../app/base/lists.ts'
import { type NumberType, printBinary, sizeOf } from '../language/binary.ts'
import { timesPowerOfTen } from '../language/numbers.ts'

/** Types of registers: numbers of one to four words, and texts. */
export const REGISTER_TYPES = [
  'uint16',
  'int16',
  'uint32',
  'int32',
  'uint64',
  'int64',
  'float32',
  'float64',
  'text',
] as const satisfies readonly (NumberType | 'text')[]

/** Where a value stands in a Modbus device, and how it is written there. */
export interface RegisterRule {
  readonly table: 'holding' | 'input'
  /** As it goes over the line: the first register is 0. */
  readonly address: number
  readonly type: (typeof REGISTER_TYPES)[number]
  /** Of several words, which one has the lowest address. */
  readonly words: 'high-first' | 'low-first'
  /** Of the two bytes of a word, which one comes first on the line; Modbus says the high one, some devices differ. */
  readonly bytes?: 'high-first' | 'low-first' | undefined
  /** Registers of a text. */
  readonly length: number
  /** The value is the number in the register times ten to this. */
  readonly power: number
}

/** A number on its way from or to its words; one for all, since thousands are read a second. */
const SCRATCH = new DataView(new ArrayBuffer(8))

/** How many registers it takes. */
export function countOf({ type, length }: RegisterRule): number {
  return type === 'text' ? length : sizeOf(type) / 2
}

/** The value as decimal text: every digit of an integer, the shortest text of a binary number; NaN and infinities in words. */
export function readRegisters(rule: RegisterRule, words: readonly number[]): string {
  const turned = rule.bytes === 'low-first' ? words.map(swapped) : words
  if (rule.type === 'text') return textOf(turned)
  const ordered = rule.words === 'high-first' ? turned : turned.toReversed()
  for (const [i, word] of ordered.entries()) SCRATCH.setUint16(2 * i, word)
  return scaled(printBinary(SCRATCH, 0, rule.type, false), rule.power)
}

/** The registers of a value given as decimal text; undefined where it does not fit without loss. */
export function writeRegisters(rule: RegisterRule, text: string): number[] | undefined {
  const value = Number(timesPowerOfTen(text, -rule.power))
  if (rule.type === 'text' || text.trim() === '' || !Number.isFinite(value)) return undefined
  if (!put(value, rule.type)) return undefined
  const words = Array.from({ length: countOf(rule) }, (_each, i) => SCRATCH.getUint16(2 * i))
  const ordered = rule.words === 'high-first' ? words : words.reverse()
  return rule.bytes === 'low-first' ? ordered.map(swapped) : ordered
}

/** Puts a number where its words are read; false where it does not fit without loss. */
function put(value: number, type: Exclude<RegisterRule['type'], 'text'>): boolean {
  if (type === 'float64') SCRATCH.setFloat64(0, value)
  else if (type === 'float32') {
    SCRATCH.setFloat32(0, value)
    return Number.isFinite(SCRATCH.getFloat32(0))
  } else {
    const signed = type.startsWith('int')
    const bits = sizeOf(type) * 8
    // Above 2^53 a number of ours has gaps: such a setting could not be told from its neighbour.
    const high = Math.min(2 ** (signed ? bits - 1 : bits) - 1, Number.MAX_SAFE_INTEGER)
    const whole = wholeWithin(
      value,
      signed ? Math.max(-(2 ** (bits - 1)), -Number.MAX_SAFE_INTEGER) : 0,
      high,
    )
    if (whole === undefined) return false
    if (bits === 64) SCRATCH.setBigInt64(0, BigInt(whole))
    else if (bits === 32) SCRATCH.setUint32(0, whole >>> 0)
    else SCRATCH.setUint16(0, whole & 0xffff)
  }
  return true
}

const swapped = (word: number): number => ((word & 0xff) << 8) | (word >> 8)

/** Moves the point by text, so that no digit changes. */
function scaled(text: string, power: number): string {
  const match = /^(-?)(\d+)$/.exec(text)
  if (match === null || power >= 0) return timesPowerOfTen(text, power)
  const digits = at(match, 2).padStart(1 - power, '0')
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
