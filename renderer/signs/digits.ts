import { powerOfTen } from '../../app/base/powers.ts'
import { uncertaintyText } from '../text/measured.ts'
import { fixed } from '../text/numbers.ts'

/** A number split where its uncertainty takes over: `strong` is what it can say, `weak` is shown but dimmed. */
export interface HonestDigits {
  strong: string
  weak: string
}

const FALLBACK_DECIMALS: Record<string, number> = { degC: 3, ohm: 4, ratio: 7, mK: 1, mV: 4, K: 3, degF: 3 }

/** Decimal place of the first digit the standard uncertainty touches: 0.0021 gives 3. */
export function honestDecimals(u: number): number {
  return Math.max(0, -powerOfTen(u))
}

/** Blank as wide as a figure. */
const FIGURE_SPACE = '\u2007'

/** Decimals that `honest` writes for a standard uncertainty. */
export function decimalsShown(u: number | null, unit: string, extra = 1): number {
  return u !== null && u > 0 ? Math.min(12, honestDecimals(u)) + extra : (FALLBACK_DECIMALS[unit] ?? 3)
}

/**
 * Splits a value after the digit that its standard uncertainty `u` first touches and keeps `extra` dimmed digits more.
 * Without an uncertainty nothing is promised: the whole number is of the usual length for its unit. `fill` is the
 * number of decimals to make up with blanks, so that the decimal signs of a column stand in line.
 */
export function honest(
  value: number | null,
  u: number | null,
  unit: string,
  extra = 1,
  fill = 0,
): HonestDigits {
  const known = value !== null && Number.isFinite(value)
  const shown = decimalsShown(u, unit, extra)
  const blank = FIGURE_SPACE.repeat(Math.max(0, fill - (known ? shown : 0)))
  if (!known) return { strong: '\u2013', weak: blank }
  if (u === null || !(u > 0)) return { strong: fixed(value, shown), weak: blank }
  const text = fixed(value, shown)
  const cut = shown === extra && extra > 0 ? text.length - extra - 1 : text.length - extra
  return { strong: text.slice(0, cut), weak: text.slice(cut) + blank }
}

/** '± 0.0042 (k = 2)': the expanded uncertainty with two digits. */
export function expanded(u: number | null, k = 2): string {
  if (u === null || !(u > 0)) return 'uncertainty not known'
  return `\u00b1${uncertaintyText(u * k)} (k = ${k})`
}
