import { fixed } from '../text/numbers.ts'

/** A number split where its uncertainty takes over: `strong` is what it can say, `weak` is shown but dimmed. */
export interface HonestDigits {
  strong: string
  weak: string
}

const FALLBACK_DECIMALS: Record<string, number> = { degC: 3, ohm: 4, ratio: 7, mK: 1, mV: 4, K: 3 }

/** Decimal place of the first digit the standard uncertainty touches: 0.0021 gives 3. */
export function honestDecimals(u: number): number {
  return Math.max(0, -Math.floor(Math.log10(u)))
}

/**
 * Splits a value after the digit that its standard uncertainty `u` first touches and keeps `extra` dimmed digits more.
 * Without an uncertainty nothing is promised: the whole number is of the usual length for its unit.
 */
export function honest(value: number | null, u: number | null, unit: string, extra = 1): HonestDigits {
  if (value === null || !Number.isFinite(value)) return { strong: '\u2013', weak: '' }
  if (u === null || !(u > 0)) return { strong: fixed(value, FALLBACK_DECIMALS[unit] ?? 3), weak: '' }
  const decimals = Math.min(12, honestDecimals(u))
  const text = fixed(value, decimals + extra)
  const cut = decimals === 0 ? text.length - extra - 1 : text.length - extra
  return { strong: text.slice(0, cut), weak: text.slice(cut) }
}

/** '± 0.0042 (k = 2)': the expanded uncertainty with two digits. */
export function expanded(u: number | null, k = 2): string {
  if (u === null || !(u > 0)) return 'uncertainty not known'
  const U = u * k
  const decimals = Math.min(12, Math.max(0, 1 - Math.floor(Math.log10(U))))
  return `\u00b1${fixed(U, decimals)} (k = ${k})`
}
