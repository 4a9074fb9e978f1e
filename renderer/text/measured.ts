import { last } from '../../app/base/lists.ts'
import { lowered, powerOfTen, superscript } from '../../app/base/powers.ts'
import { lastPlace, toPlace as placed } from '../../app/base/rounding.ts'
import { decimalSignNow, fixed, unitSign } from './numbers.ts'

/** A number as it may be quoted alone: with its unit and, where it is known, how far it can be trusted. */
export interface Measured {
  value: number
  unit: string
  /** Expanded uncertainty in the same unit. */
  expanded: number | null
  k: number
  /** What the uncertainty covers, or what kind of number this is: 'standard uncertainty, type B'. */
  about?: string | undefined
  /** Significant digits of a number that has no uncertainty of its own. */
  digits?: number
}

/** The expanded uncertainty of a standard one. */
export const measured = (value: number, unit: string, u: number | null, k = 2, about?: string): Measured => ({
  value,
  unit,
  expanded: u !== null && u > 0 ? u * k : null,
  k,
  about,
})

/** Units in which a small uncertainty is said, with their size in the unit of the number. */
const SMALLER: Record<string, readonly { sign: string; size: number }[]> = {
  degC: [
    { sign: 'K', size: 1 },
    { sign: 'mK', size: 1e-3 },
    { sign: '\u00b5K', size: 1e-6 },
  ],
  K: [
    { sign: 'K', size: 1 },
    { sign: 'mK', size: 1e-3 },
    { sign: '\u00b5K', size: 1e-6 },
  ],
  ohm: [
    { sign: '\u03a9', size: 1 },
    { sign: 'm\u03a9', size: 1e-3 },
    { sign: '\u00b5\u03a9', size: 1e-6 },
  ],
  mK: [
    { sign: 'mK', size: 1 },
    { sign: '\u00b5K', size: 1e-3 },
  ],
  mV: [
    { sign: 'mV', size: 1 },
    { sign: '\u00b5V', size: 1e-3 },
    { sign: 'nV', size: 1e-6 },
  ],
}

const SAME_UNIT: Record<string, string> = { '\u00b0C': 'degC', '\u03a9': 'ohm' }

const THIN = '\u2009'

/** Decimals in groups of three from the decimal sign, as they are written in print. */
function grouped(text: string): string {
  const sign = decimalSignNow()
  const [whole = '', fraction] = text.split(sign)
  if (fraction === undefined || fraction.length <= 4) return text
  return `${whole}${sign}${fraction.replace(/(\d{3})(?=\d)/g, `$1${THIN}`)}`
}

/** A number to a decimal place, which may lie before the decimal sign. */
const toPlace = (value: number, place: number): string =>
  place <= 0 ? grouped(fixed(value, -place)) : fixed(Number(placed(value, place)), 0)

/** An uncertainty with its two digits, in the reader's style. */
export const uncertaintyText = (u: number): string => toPlace(u, lastPlace(u))

/** Digits of a number that says nothing about its uncertainty. */
const UNSURE_DIGITS = 9

/**
 * '29.764 61 °C ± 1.2 mK (k = 2)': the uncertainty with two digits, the value to the same place, both in the reader's
 * style. Without an uncertainty the value stands with nine digits.
 */
export function measuredWords({ value, unit, expanded, k, about, digits = UNSURE_DIGITS }: Measured): string {
  const sign = unitSign(unit)
  const behind = sign === '' ? '' : ` ${sign}`
  if (expanded === null || !(expanded > 0)) {
    const note = about ? ` (${about})` : ''
    return `${scaled(value, digits)}${behind}${note}`
  }
  const note = `(${about ? `${about}, ` : ''}k = ${kWords(k)})`
  const place = lastPlace(expanded)
  const units = SMALLER[SAME_UNIT[unit] ?? unit]
  if (units) {
    const said = units.find(({ size }) => expanded >= 0.1 * size) ?? last(units)
    const U = expanded / said.size
    return `${toPlace(value, place)}${behind} \u00b1 ${toPlace(U, lastPlace(U))} ${said.sign} ${note}`
  }
  const power = powerOfTen(value)
  if (power >= -2 && power < 6)
    return `${toPlace(value, place)}${behind} \u00b1 ${toPlace(expanded, place)}${behind} ${note}`
  const at = 10 ** power
  return `(${toPlace(value / at, place - power)} \u00b1 ${toPlace(expanded / at, place - power)}) \u00d7 10${superscript(power)}${behind} ${note}`
}

/** A unit as a program may have it: '1/\u00b0C\u00b2' as 1/degC^2. */
const plainUnit = (unit: string): string =>
  unit
    .replaceAll('\u00b0C', 'degC')
    .replaceAll('\u03a9', 'ohm')
    .replace(/[\u207b\u2070\u00b9\u00b2\u00b3\u2074-\u2079]+/g, (power) => `^${lowered(power)}`)

/** The same for a program: ASCII, a decimal point, every digit, the uncertainty in the unit of the value. */
export function measuredPlain({ value, unit, expanded, k, about }: Measured): string {
  const behind = unit === '' || unit === '1' || unit === 'ratio' ? '' : ` ${plainUnit(unit)}`
  if (expanded === null || !(expanded > 0)) return `${value}${behind}${about ? ` (${about})` : ''}`
  return `${value}${behind} +/- ${Number(expanded.toPrecision(4))}${behind} (k=${Number(k.toFixed(2))}${about ? `, ${about}` : ''})`
}

const kWords = (k: number): string => (Number.isInteger(k) ? String(k) : fixed(k, 2))

function scaled(value: number, digits: number): string {
  if (value === 0) return '0'
  const power = powerOfTen(value)
  if (power >= -4 && power < digits) return grouped(trimmed(fixed(value, digits - 1 - power)))
  return `${grouped(trimmed(fixed(value / 10 ** power, digits - 1)))} \u00d7 10${superscript(power)}`
}

/** Without the noughts at the end of the decimals. */
function trimmed(text: string): string {
  const sign = decimalSignNow()
  return text.includes(sign) ? text.replace(/0+$/, '').replace(new RegExp(`\\${sign}$`), '') : text
}
