/**
 * Double-double arithmetic: a number held as an unevaluated sum of two doubles, about 32 digits.
 *
 * Sums of readings on a large offset, and least squares on nearly dependent columns, lose most of a
 * double's digits on the way; carried in this form they give back a double that is right to its end.
 */
export interface DoubleDouble {
  readonly hi: number
  readonly lo: number
}

const SPLITTER = 134217729

/**
 * A sum of two doubles without error.
 *
 * Symbols  a, b doubles; hi + lo = a + b exactly
 * Source   D. E. Knuth, The Art of Computer Programming 2, 4.2.2, theorem B (from memory)
 * Valid    no overflow
 * Throws   nothing
 */
export function twoSum(a: number, b: number): DoubleDouble {
  const hi = a + b
  const back = hi - a
  return { hi, lo: a - (hi - back) + (b - back) }
}

/**
 * A product of two doubles without error.
 *
 * Symbols  a, b doubles; hi + lo = a b exactly
 * Source   T. J. Dekker, Numerische Mathematik 18 (1971) 224 (from memory)
 * Valid    |a|, |b| < 1e291, product above 1e-290
 * Throws   nothing
 */
export function twoProduct(a: number, b: number): DoubleDouble {
  const hi = a * b
  const aBig = a * SPLITTER
  const aHi = aBig - (aBig - a)
  const aLo = a - aHi
  const bBig = b * SPLITTER
  const bHi = bBig - (bBig - b)
  const bLo = b - bHi
  return { hi, lo: aHi * bHi - hi + aHi * bLo + aLo * bHi + aLo * bLo }
}

/**
 * Sum of two double-doubles.
 *
 * Symbols  x, y double-doubles
 * Source   Y. Hida, X. S. Li, D. H. Bailey, 15th IEEE Symposium on Computer Arithmetic (2001) 155 (from memory)
 * Valid    no overflow; relative error about 1e-32
 * Throws   nothing
 */
export function add(x: DoubleDouble, y: DoubleDouble): DoubleDouble {
  const s = twoSum(x.hi, y.hi)
  const t = twoSum(x.lo, y.lo)
  const first = s.lo + t.hi
  const hi = s.hi + first
  const lo = first - (hi - s.hi) + t.lo
  const end = hi + lo
  return { hi: end, lo: lo - (end - hi) }
}

/**
 * Difference of two double-doubles.
 *
 * Symbols  x, y double-doubles; result x − y
 * Source   as add
 * Valid    no overflow
 * Throws   nothing
 */
export function subtract(x: DoubleDouble, y: DoubleDouble): DoubleDouble {
  return add(x, { hi: -y.hi, lo: -y.lo })
}

/**
 * Product of two double-doubles.
 *
 * Symbols  x, y double-doubles
 * Source   as add
 * Valid    no overflow; relative error about 1e-32
 * Throws   nothing
 */
export function multiply(x: DoubleDouble, y: DoubleDouble): DoubleDouble {
  const p = twoProduct(x.hi, y.hi)
  const cross = p.lo + (x.hi * y.lo + x.lo * y.hi)
  const hi = p.hi + cross
  return { hi, lo: cross - (hi - p.hi) }
}

/**
 * Quotient of two double-doubles: three steps of long division.
 *
 * Symbols  x, y double-doubles; result x/y
 * Source   as add
 * Valid    y ≠ 0, no overflow
 * Throws   nothing (y = 0 gives a value that is not finite)
 */
export function divide(x: DoubleDouble, y: DoubleDouble): DoubleDouble {
  const q1 = x.hi / y.hi
  const r1 = subtract(x, multiply({ hi: q1, lo: 0 }, y))
  const q2 = r1.hi / y.hi
  const r2 = subtract(r1, multiply({ hi: q2, lo: 0 }, y))
  const q3 = r2.hi / y.hi
  return add(twoSum(q1, q2), { hi: q3, lo: 0 })
}

/**
 * Square root of a double-double: one Newton step on a double's root.
 *
 * Symbols  x double-double; result √x
 * Source   as add
 * Valid    x ≥ 0
 * Throws   nothing
 */
export function squareRoot(x: DoubleDouble): DoubleDouble {
  if (x.hi === 0) return { hi: 0, lo: 0 }
  const root = Math.sqrt(x.hi)
  const rest = subtract(x, twoProduct(root, root))
  return add({ hi: root, lo: 0 }, { hi: rest.hi / (2 * root), lo: 0 })
}

const EXACT_POWERS_OF_TEN = 22

/**
 * The decimal number that a double prints as, kept beyond the double's own rounding.
 *
 * A reading written as 10000000.2 has no exact double; the nearest one is off by up to half a unit in
 * its last place, and at a spread of 0.1 that is the ninth digit of a standard deviation. The shortest
 * text that reads back as the double is the number that was written, if it had 15 digits or fewer.
 *
 * Symbols  x double; hi + lo = its shortest decimal text, to about 32 digits
 * Source   ECMA-262, Number::toString (shortest text that reads back)
 * Valid    finite x
 * Throws   nothing
 */
export function fromDecimalText(x: number): DoubleDouble {
  if (Number.isInteger(x) || !Number.isFinite(x)) return { hi: x, lo: 0 }
  const [mantissa = '', exponentText = '0'] = String(x).split('e')
  const [whole = '', fraction = ''] = mantissa.split('.')
  const digits = Number(whole + fraction)
  const exponent = Number(exponentText) - fraction.length
  if (!Number.isSafeInteger(digits)) return { hi: x, lo: 0 }
  return scaledByTen({ hi: digits, lo: 0 }, exponent)
}

function scaledByTen(x: DoubleDouble, exponent: number): DoubleDouble {
  let value = x
  for (let rest = Math.abs(exponent); rest > 0; rest -= EXACT_POWERS_OF_TEN) {
    const power = { hi: 10 ** Math.min(rest, EXACT_POWERS_OF_TEN), lo: 0 }
    value = exponent < 0 ? divide(value, power) : multiply(value, power)
  }
  return value
}
