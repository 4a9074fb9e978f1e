import type { Mark } from '../../app/records/mark.ts'

/**
 * Numeric response data of IEEE 488.2: NR1 integers, NR2 with a point, NR3 with an exponent. A number stays the text
 * the instrument sent; it is turned into binary only to recognise the special values.
 *
 * Source  IEEE Std 488.2-1992, 8.7.2 to 8.7.4 (forms), from memory; SCPI-99 volume 1, 7.2.1.4 to 7.2.1.5 (9.9E37
 *         infinity, 9.91E37 not a number), from memory.
 */
type NumberForm = 'NR1' | 'NR2' | 'NR3'

export type NumberRead =
  | { readonly kind: 'number'; readonly text: string; readonly form: NumberForm }
  | { readonly kind: 'special'; readonly mark: Extract<Mark, 'over-range' | 'under-range' | 'not-a-number'> }
  | { readonly kind: 'unreadable' }

const [BLANK, PLUS, MINUS, POINT, ZERO, NINE, SMALL_E] = [0x20, 0x2b, 0x2d, 0x2e, 0x30, 0x39, 0x65]
const INFINITY = 9.9e37
const NOT_A_NUMBER = 9.91e37
const UNREADABLE: NumberRead = { kind: 'unreadable' }

/** Reads one number; blanks around it and one between a sign and its digits are tolerated, as real instruments pad. */
export function readNumber(reply: string): NumberRead {
  let text = reply.trim()
  if (text.charCodeAt(1) === BLANK) text = text.replace(/^([+-]) +/, '$1')
  const form = formOf(text)
  if (form === undefined) return wordForm(text)
  // A shorter text without an exponent cannot reach the special values.
  const special = form === 'NR3' || text.length > 37 ? specialOf(Number(text)) : undefined
  return special ?? { kind: 'number', text, form }
}

function specialOf(value: number): NumberRead | undefined {
  if (Math.abs(value) < INFINITY * (1 - 1e-9)) return undefined
  if (Math.abs(value - NOT_A_NUMBER) < 1e-6 * NOT_A_NUMBER) return { kind: 'special', mark: 'not-a-number' }
  return { kind: 'special', mark: value > 0 ? 'over-range' : 'under-range' }
}

/** The form of a number's text, looked at character by character: it is done for every reading. */
function formOf(text: string): NumberForm | undefined {
  const first = text.charCodeAt(0)
  const start = first === PLUS || first === MINUS ? 1 : 0
  let at = afterDigits(text, start)
  let digits = at - start
  let form: NumberForm = 'NR1'
  if (text.charCodeAt(at) === POINT) {
    const end = afterDigits(text, at + 1)
    digits += end - at - 1
    at = end
    form = 'NR2'
  }
  if (digits === 0) return undefined
  if (at < text.length && (text.charCodeAt(at) | 0x20) === SMALL_E) {
    const sign = text.charCodeAt(at + 1)
    const exponent = sign === PLUS || sign === MINUS ? at + 2 : at + 1
    at = afterDigits(text, exponent)
    if (at === exponent) return undefined
    form = 'NR3'
  }
  return at === text.length ? form : undefined
}

function afterDigits(text: string, start: number): number {
  let at = start
  while (at < text.length && text.charCodeAt(at) >= ZERO && text.charCodeAt(at) <= NINE) at++
  return at
}

/** The words SCPI allows in place of the special numbers. */
function wordForm(text: string): NumberRead {
  switch (text.toUpperCase()) {
    case 'INF':
    case 'INFINITY':
    case '+INF':
    case '+INFINITY':
      return { kind: 'special', mark: 'over-range' }
    case '-INF':
    case '-INFINITY':
    case 'NINF':
    case 'NINFINITY':
      return { kind: 'special', mark: 'under-range' }
    case 'NAN':
      return { kind: 'special', mark: 'not-a-number' }
    default:
      return UNREADABLE
  }
}

/** A number's text times ten to `power`, by its exponent alone: every digit stays as it was sent. */
export function timesPowerOfTen(text: string, power: number): string {
  if (power === 0) return text
  const [mantissa = '', own = '0'] = text.split(/[eE]/)
  const exponent = Number(own) + power
  return exponent === 0 ? mantissa : `${mantissa}E${exponent}`
}

export interface NumberFormat {
  /** Digits after the point; absent with `significant`. */
  readonly decimals?: number | undefined
  /** Significant digits, sent as NR3. */
  readonly significant?: number | undefined
  /** Sent times ten to this (1 mA as 1E-3 A: -3). */
  readonly power?: number | undefined
  /** Decimal comma instead of a point. */
  readonly comma?: boolean | undefined
  /** Padded with zeros to this many digits before the point. */
  readonly width?: number | undefined
}

/** Prints a setting for an instrument. Throws RangeError for a number that is not finite. */
export function printNumber(value: number, format: NumberFormat): string {
  if (!Number.isFinite(value)) throw new RangeError(`${value} cannot be sent as a number`)
  const scaled = format.power === undefined ? value : Number(timesPowerOfTen(String(value), format.power))
  if (format.significant !== undefined) {
    const [mantissa = '0', exponent = '+0'] = scaled.toExponential(format.significant - 1).split('e')
    return withComma(`${mantissa}E${exponent}`, format.comma)
  }
  const fixed = format.decimals === undefined ? plain(scaled) : scaled.toFixed(format.decimals)
  const [, sign = '', whole = '', rest = ''] = /^(-?)(\d+)(.*)$/.exec(fixed) ?? []
  return withComma(sign + whole.padStart(format.width ?? 0, '0') + rest, format.comma)
}

/** The shortest text, with a capital exponent, as 488.2 writes it. */
function plain(value: number): string {
  return String(value).replace('e', 'E')
}

function withComma(text: string, comma: boolean | undefined): string {
  return comma === true ? text.replace('.', ',') : text
}
