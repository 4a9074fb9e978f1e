/** The one door to decimal arithmetic: forty digits are carried so that thirty are good. */

import { Decimal } from 'decimal.js'
import { at } from '../base/lists.ts'
import type { Numeral } from '../kinds/conversion.ts'

export const D = Decimal.clone({
  precision: 40,
  rounding: Decimal.ROUND_HALF_EVEN,
  toExpNeg: -60,
  toExpPos: 60,
})
export type D = Decimal

const GOOD_DIGITS = 30
const GOOD_PLACES = 34
/** Beyond this an iteration has run away: no signal or temperature is so large. */
const FARTHEST = 1e60

/**
 * A number or decimal text as an exact decimal; a double is taken as its shortest text, the digits that were written.
 *
 * Symbols  value, a number or the decimal text of one
 * Source   decimal.js (MIT), through this file only
 * Valid    finite numbers
 * Throws   an error of decimal.js for text that is no number
 */
export function decimal(value: Numeral | D): D {
  return new D(value)
}

/**
 * Value of a polynomial with coefficients that are numbers as published or as written.
 *
 *   p(x) = sum_i c_i x^i
 *
 * Symbols  c_i coefficient of x^i, ascending; x argument
 * Source   Horner's rule, common practice, no source
 * Valid    every x
 * Throws   nothing
 */
export function decimalPolynomial(c: readonly (Numeral | D)[], x: D): D {
  let p = new D(0)
  for (let i = c.length - 1; i >= 0; i--) p = p.times(x).plus(at(c, i))
  return p
}

/**
 * Brings an answer found in doubles to the full precision: Newton with the slope held at its double.
 *
 *   x <- x - miss(x)/slope
 *
 * Each pass gains as many digits as the slope has right, so that a handful of them are enough.
 *
 * Symbols  miss, the function whose root is x; slope, its derivative at the start
 * Source   simplified Newton's rule, common practice, no source
 * Valid    a start good to some microkelvin and a slope that is not zero
 * Throws   nothing; NaN where it does not settle
 */
export function refine(start: number, slope: number, miss: (x: D) => D): D {
  if (!Number.isFinite(start) || !Number.isFinite(slope) || slope === 0) return new D(Number.NaN)
  let x = new D(start)
  let previous = new D(Number.POSITIVE_INFINITY)
  for (let i = 0; i < 40; i++) {
    const step = miss(x).div(slope)
    const size = step.abs()
    x = x.minus(step)
    if (!x.isFinite() || x.abs().gt(FARTHEST)) break
    // Settled, or down at the rounding of the function itself, where steps no longer shrink.
    const scale = x.abs().plus(1)
    if (size.lte(scale.times(1e-37)) || (size.lte(scale.times(1e-31)) && size.times(2).gte(previous)))
      return x
    previous = size
  }
  return new D(Number.NaN)
}

/**
 * An exact result as text with thirty good digits, in plain decimal notation up to 1e60.
 *
 * Symbols  value, a decimal
 * Source   common practice, no source
 * Valid    every finite value
 * Throws   nothing
 */
export function decimalText(value: D): string {
  return value.toDecimalPlaces(GOOD_PLACES).toSignificantDigits(GOOD_DIGITS).toString()
}
