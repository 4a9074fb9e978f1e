/**
 * The power of ten of a number: 2 for 340, -3 for 0.0012. Read off the number's own shortest decimal text, so that no
 * logarithm misses a whole power.
 *
 * Symbols  value finite; 0 has the power 0
 * Source   definition
 * Valid    every finite number
 * Throws   nothing
 */
export function powerOfTen(value: number): number {
  if (value === 0 || !Number.isFinite(value)) return 0
  return Number(value.toExponential().split('e')[1])
}

/**
 * Decimals that the labels of an axis need whose neighbours lie a step apart: 0 for 5, 2 for 0.05, 3 for 0.125.
 *
 * Symbols  step distance of two labels; most where to end, for steps without an end such as 1/3
 * Source   definition
 * Valid    every finite step; 0 for none
 * Throws   nothing
 */
export function decimalsOfStep(step: number, most = 9): number {
  const size = Math.abs(step)
  if (size === 0 || !Number.isFinite(size)) return 0
  const isWhole = (x: number) => Math.abs(x - Math.round(x)) < 1e-3
  let decimals = Math.min(most, Math.max(0, -powerOfTen(Number(size.toPrecision(6)))))
  while (decimals < most && !isWhole(size * 10 ** decimals)) decimals++
  return decimals
}

const RAISED: Readonly<Record<string, string>> = {
  '-': '\u207b',
  '0': '\u2070',
  '1': '\u00b9',
  '2': '\u00b2',
  '3': '\u00b3',
  '4': '\u2074',
  '5': '\u2075',
  '6': '\u2076',
  '7': '\u2077',
  '8': '\u2078',
  '9': '\u2079',
}
const LOWERED = Object.fromEntries(Object.entries(RAISED).map(([plain, raised]) => [raised, plain]))

/** A whole number as raised figures. */
export const superscript = (n: number): string => [...String(n)].map((c) => RAISED[c] ?? c).join('')

/** Raised figures as plain ones. */
export const lowered = (raised: string): string => [...raised].map((c) => LOWERED[c] ?? c).join('')
