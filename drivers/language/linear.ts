import { decimal } from '../../app/thermometry/decimal.ts'

/** From the instrument's number to ours: (number + plus) x times / over. */
export interface LinearRule {
  readonly plus: number
  readonly times: number
  readonly over: number
}

/** Digits kept beyond the last place that was sent, where the quotient does not end: far below what any reading means. */
const BEYOND = 3
/** More places than this no instrument sends; a text with more is rounded to as many significant digits. */
const MOST_PLACES = 30

/**
 * Converts the decimal text an instrument sent, in decimal arithmetic. Exact where nothing is divided; else rounded at
 * BEYOND places after the last that was sent. Undefined where the result is no finite number.
 */
export function convertText(text: string, { plus, times, over }: LinearRule): string | undefined {
  const sent = decimal(text)
  const value = sent.plus(plus).times(times).div(over)
  if (!value.isFinite()) return undefined
  const own = Math.max(placesOf(text), decimal(plus).decimalPlaces()) + decimal(times).decimalPlaces()
  const places = over === 1 ? own : own + BEYOND + Math.max(0, Math.ceil(Math.log10(Math.abs(over))))
  if (places > MOST_PLACES || value.e > MOST_PLACES) return value.toSignificantDigits(MOST_PLACES).toString()
  return value.toFixed(places)
}

/** Places after the point as they were sent, zeros too: 98.60 has two, 1.5E-3 has four. */
function placesOf(text: string): number {
  const [, digits = '', exponent = '0'] = /^[^.eE]*(?:\.(\d*))?(?:[eE]([+-]?\d+))?$/.exec(text) ?? []
  return Math.max(0, digits.length - Number(exponent))
}

/** The instrument's number for ours. */
export function convertBack(value: number, { plus, times, over }: LinearRule): number {
  return decimal(value).times(over).div(times).minus(plus).toNumber()
}

/** Our number for the instrument's. */
export function convertNumber(value: number, { plus, times, over }: LinearRule): number {
  return decimal(value).plus(plus).times(times).div(over).toNumber()
}
