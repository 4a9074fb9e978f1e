import { powerOfTen, superscript } from './powers.ts'

/** Significant digits of a stated uncertainty; JCGM 100:2008, 7.2.6: usually two at most. */
const DIGITS_OF_U = 2

/** The decimal place of the last digit of a number held to `digits` significant ones: -2 for hundredths. */
export function lastPlace(value: number, digits = DIGITS_OF_U): number {
  if (value === 0 || !Number.isFinite(value)) return 0
  // toPrecision first: 0.0996 held to two digits is 0.10, a place further up.
  return powerOfTen(Number(value.toPrecision(digits))) - (digits - 1)
}

/** Decimals with which an uncertainty, and a value beside it, are written: 4 for 0.0012, none for 124. */
export const decimalsOfU = (U: number, digits = DIGITS_OF_U): number => Math.max(0, -lastPlace(U, digits))

/** Decimal text with its last digit at a place; no exponent; the sign of zero dropped. */
export function toPlace(value: number, place: number): string {
  if (!Number.isFinite(value)) return 'none'
  const decimals = Math.max(0, -place)
  const scaled = place > 0 ? Math.round(value / 10 ** place) * 10 ** place : value
  const text = scaled.toFixed(Math.min(100, decimals))
  return Number(text) === 0 ? text.replace('-', '') : text
}

/** The same as a mantissa and a power of ten, for values far from one: 3.90727e-3. */
export function toPlaceScientific(value: number, place: number): string {
  if (value === 0 || !Number.isFinite(value)) return toPlace(value, place)
  const decimals = Math.max(0, powerOfTen(value) - place)
  return value.toExponential(Math.min(100, decimals)).replace('e+', 'e')
}

/** An uncertainty to two significant digits. */
export function roundedUncertainty(u: number): string {
  if (!(u > 0) || !Number.isFinite(u)) return u === 0 ? '0' : 'none'
  const place = lastPlace(u)
  return u < 1e-4 || u >= 1e6 ? toPlaceScientific(u, place) : toPlace(u, place)
}

/** The same without a power of ten, and to other than two digits where that is said. */
export function plainUncertainty(u: number, digits = DIGITS_OF_U): string {
  return u > 0 && Number.isFinite(u) ? toPlace(u, lastPlace(u, digits)) : roundedUncertainty(u)
}

/** A value to the last place of its uncertainty (`extra` places further for what is used in a calculation). */
export function roundedValue(value: number, u: number, extra = 0): string {
  const place = u > 0 && Number.isFinite(u) ? lastPlace(u) - extra : lastPlace(value, 9)
  const size = Math.abs(value)
  return size !== 0 && (size < 1e-2 || size >= 1e7) && place < -6
    ? toPlaceScientific(value, place)
    : toPlace(value, place)
}

/** k as certificates print it. */
export function coverageText(k: number): string {
  return k.toFixed(2)
}

/** Degrees of freedom: whole, or the sign of infinity. */
export function freedomText(degreesOfFreedom: number): string {
  return Number.isFinite(degreesOfFreedom) && degreesOfFreedom < 1e4
    ? String(Math.floor(degreesOfFreedom))
    : '∞'
}

/** Decimal text as a person reads it: a true minus sign, powers of ten, the decimal sign of the laboratory. */
export function printed(text: string, decimalSign: '.' | ',' = '.'): string {
  const [mantissa = '', exponent] = text.split('e')
  const shown = mantissa.replace('-', '−').replace('.', decimalSign)
  if (exponent === undefined || Number.isNaN(Number(text))) return Number.isNaN(Number(text)) ? text : shown
  return `${shown} × 10${superscript(Number(exponent))}`
}
