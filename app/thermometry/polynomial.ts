/**
 * Value of a polynomial by Horner's rule.
 *
 *   p(x) = sum_i c_i x^i
 *
 * Symbols  c_i coefficient of x^i, ascending powers; x argument; units as the caller's
 * Source   Horner's rule, common practice, no source
 * Valid    every finite x
 * Throws   nothing; an empty list of coefficients is the zero polynomial
 */
export function polynomial(c: readonly number[], x: number): number {
  let p = 0
  for (let i = c.length - 1; i >= 0; i--) p = p * x + c[i]!
  return p
}

/**
 * Derivative of a polynomial, dp/dx = sum_i i c_i x^(i-1).
 *
 * Symbols  c_i coefficient of x^i, ascending powers; x argument; units as the caller's
 * Source   Horner's rule, common practice, no source
 * Valid    every finite x
 * Throws   nothing
 */
export function polynomialSlope(c: readonly number[], x: number): number {
  let p = 0
  for (let i = c.length - 1; i >= 1; i--) p = p * x + i * c[i]!
  return p
}

/**
 * A root of a continuous function between two arguments at which its signs differ.
 *
 * Symbols  f function; low, high ends of the bracket; x root, in the unit of the argument
 * Source   bisection kept in hand of the secant rule (Illinois form), common practice, no source
 * Valid    f(low) and f(high) of opposite sign or one of them zero
 * Throws   nothing; gives NaN where the signs do not differ
 */
export function bracketedRoot(f: (x: number) => number, low: number, high: number): number {
  let a = low
  let b = high
  let fa = f(a)
  let fb = f(b)
  if (fa === 0) return a
  if (fb === 0) return b
  if (!(fa * fb < 0)) return Number.NaN
  // Two thousand bisections cross every exponent a double has; the interval collapses long before.
  for (let i = 0; i < 6000; i++) {
    // Secant when it falls well inside the bracket; every third step a bisection, so that the bracket always shrinks.
    const secant = b - (fb * (b - a)) / (fb - fa)
    const middle = a + (b - a) / 2
    const x = i % 3 === 2 || !(secant > Math.min(a, b) && secant < Math.max(a, b)) ? middle : secant
    const fx = f(x)
    if (fx === 0 || x === a || x === b) return x
    if (fx * fa < 0) {
      b = x
      fb = fx
    } else {
      a = x
      fa = fx
    }
  }
  return Math.abs(fa) < Math.abs(fb) ? a : b
}

/**
 * All real roots of a polynomial in an interval, rising; a multiple root is given once.
 *
 * The derivative's roots cut the interval into pieces on which the polynomial is monotonic; each piece whose ends
 * differ in sign holds exactly one root.
 *
 * Symbols  c_i coefficient of x^i, ascending powers; low, high ends of the interval, in the unit of x
 * Source   intermediate value theorem with Rolle's theorem; common practice, no source
 * Valid    finite interval, low < high
 * Throws   nothing
 */
export function realRoots(c: readonly number[], low: number, high: number): number[] {
  let degree = c.length - 1
  while (degree > 0 && c[degree] === 0) degree--
  if (degree <= 0) return []
  const trimmed = c.slice(0, degree + 1)
  const value = (x: number) => polynomial(trimmed, x)
  if (degree === 1) {
    const root = -trimmed[0]! / trimmed[1]!
    return root >= low && root <= high ? [root] : []
  }
  const slopes = trimmed.slice(1).map((ci, i) => ci * (i + 1))
  const cuts = [low, ...realRoots(slopes, low, high), high]
  const roots: number[] = []
  for (let i = 1; i < cuts.length; i++) {
    const root = bracketedRoot(value, cuts[i - 1]!, cuts[i]!)
    const last = roots.at(-1)
    if (Number.isFinite(root) && (last === undefined || root > last)) roots.push(root)
  }
  return roots
}

/**
 * A bound on the modulus of every root of a polynomial (Cauchy's bound).
 *
 *   |x| <= 1 + max_i |c_i / c_n|
 *
 * Symbols  c_i coefficient of x^i, c_n the last that is not zero
 * Source   A.-L. Cauchy's bound, from memory of the literature
 * Valid    at least one coefficient other than c_0 not zero
 * Throws   nothing; gives 0 for a constant
 */
export function rootBound(c: readonly number[]): number {
  let degree = c.length - 1
  while (degree > 0 && c[degree] === 0) degree--
  if (degree <= 0) return 0
  let largest = 0
  for (let i = 0; i < degree; i++) largest = Math.max(largest, Math.abs(c[i]! / c[degree]!))
  return 1 + largest
}
