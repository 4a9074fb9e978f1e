import { at } from '../../app/base/lists.ts'
import { powerOfTen, superscript } from '../../app/base/powers.ts'

/** Numbers as people type and read them. Lossy on purpose: exact decimals stay text (see the register's forms). */

let decimalSign: '.' | ',' = '.'
export function setDecimalSign(sign: '.' | ','): void {
  decimalSign = sign
}
export const decimalSignNow = (): '.' | ',' => decimalSign

const THIN = '\u2009'
const MINUS = '\u2212'

/** Fixed decimals with a true minus, a figure space in thousands of whole parts over four digits, and the chosen sign. */
export function fixed(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return '\u2013'
  const text = Math.abs(value).toFixed(Math.min(20, Math.max(0, decimals)))
  const [whole = '', fraction] = text.split('.')
  const grouped = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, THIN) : whole
  const negative = value < 0 && Number(text) !== 0
  return `${negative ? MINUS : ''}${grouped}${fraction === undefined ? '' : decimalSign + fraction}`
}

/** A decimal text as it is printed, every digit kept: '-3e-8' as −3×10⁻⁸. */
export function printed(text: string): string {
  const [mantissa = '', exponent] = text.replace('-', MINUS).replace('.', decimalSign).split(/e/i)
  return exponent === undefined
    ? mantissa
    : `${mantissa}\u00d710${superscript(Number(exponent.replace(MINUS, '-')))}`
}

/** A number with about `digits` significant digits, in powers of ten where it is very small or large. */
export function significant(value: number, digits = 6, leastPower = -4): string {
  if (!Number.isFinite(value)) return '\u2013'
  if (value === 0) return '0'
  const power = powerOfTen(value)
  if (power < leastPower || power > 9) {
    const [mantissa = '', exponent = ''] = value.toExponential(Math.max(0, digits - 1)).split('e')
    return `${mantissa.replace('-', MINUS).replace('.', decimalSign)}\u00d710${superscript(Number(exponent))}`
  }
  return fixed(value, Math.max(0, digits - 1 - power))
}

const UNIT_SIGNS: Record<string, string> = {
  ohm: '\u03a9',
  degC: '\u00b0C',
  degF: '\u00b0F',
  ratio: '',
  '1': '',
  '1/K': 'K\u207b\u00b9',
  '1/K^2': 'K\u207b\u00b2',
  '1/K^3': 'K\u207b\u00b3',
  '1/K^4': 'K\u207b\u2074',
}
/** How a unit is printed: 'ohm' as Ω, 'degC' as °C, a ratio with none. */
export const unitSign = (unit: string): string => UNIT_SIGNS[unit] ?? unit

/**
 * Reads a number as typed: comma or point, spaces in thousands, a true or a plain minus, and one of `units` behind it
 * (each with the factor that brings it to the wanted unit). Returns undefined for anything else.
 */
export function readNumber(typed: string, units: Readonly<Record<string, number>> = {}): number | undefined {
  const text = typed
    .trim()
    .replaceAll(MINUS, '-')
    .replace(/[\s\u2009\u202f]/g, '')
  const match = /^([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,3})?)(.*)$/.exec(text)
  if (!match) return undefined
  const value = Number(at(match, 1).replace(',', '.'))
  const unit = at(match, 2).replace('\u2126', '\u03a9').replace('\u03bc', '\u00b5')
  if (unit === '') return value
  const found = Object.entries(units).find(([name]) => name.toLowerCase() === unit.toLowerCase())
  return found ? value * found[1] : undefined
}

/** The decimal text of a number as typed on a certificate: every digit kept, comma turned to point. */
export function readDecimalText(typed: string): string | undefined {
  const text = typed
    .trim()
    .replaceAll(MINUS, '-')
    .replace(/[\s\u2009\u202f]/g, '')
    .replace(',', '.')
  return /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,4})?$/.test(text) ? text : undefined
}

export const KELVIN_UNITS = { K: 1, mK: 1e-3, '\u00b0C': 1 } as const
export const CELSIUS_UNITS = { '\u00b0C': 1, C: 1, degC: 1 } as const
export const SECOND_UNITS = { s: 1, sec: 1, min: 60, h: 3600 } as const

/** Bytes in the unit that leaves one to three digits. */
export function bytes(n: number): string {
  const units = ['B', 'kB', 'MB', 'GB', 'TB']
  let i = 0
  let value = n
  while (value >= 1000 && i < units.length - 1) {
    value /= 1000
    i++
  }
  return `${fixed(value, value < 10 && i > 0 ? 1 : 0)} ${units[i]}`
}
