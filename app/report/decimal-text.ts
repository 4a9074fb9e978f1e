/** Plain decimal text: sign, digits, and how many of them stand after the point. */
interface Plain {
  readonly units: bigint
  readonly decimals: number
}

function parse(text: string): Plain {
  const match = /^([+-]?)(\d*)\.?(\d*)(?:e([+-]?\d+))?$/i.exec(text)
  if (!match) throw new RangeError(`${text} is not a decimal number`)
  const [, sign, whole = '', fraction = '', exponent = '0'] = match
  const units = BigInt(`${whole}${fraction}` || '0') * (sign === '-' ? -1n : 1n)
  const decimals = fraction.length - Number(exponent)
  return decimals >= 0 ? { units, decimals } : { units: units * 10n ** BigInt(-decimals), decimals: 0 }
}

function print({ units, decimals }: Plain): string {
  const negative = units < 0n
  const digits = String(negative ? -units : units).padStart(decimals + 1, '0')
  const whole = digits.slice(0, digits.length - decimals)
  const fraction = digits.slice(digits.length - decimals)
  return `${negative ? '-' : ''}${whole}${decimals > 0 ? `.${fraction}` : ''}`
}

/** Sum of two decimal texts, every digit kept: degC to kelvin without a double in between. */
export function addText(a: string, b: string): string {
  const [p, q] = [parse(a), parse(b)]
  const decimals = Math.max(p.decimals, q.decimals)
  const at = ({ units, decimals: own }: Plain) => units * 10n ** BigInt(decimals - own)
  return print({ units: at(p) + at(q), decimals })
}

/** Decimal text moved by powers of ten: millikelvin to kelvin with -3. */
export function shiftText(text: string, power: number): string {
  const { units, decimals } = parse(text)
  const moved = decimals - power
  return moved >= 0
    ? print({ units, decimals: moved })
    : print({ units: units * 10n ** BigInt(-moved), decimals: 0 })
}

/** As `shiftText`, but a text that stays where it is keeps its form, exponent and all: digits are moved, never recomputed. */
export const moved = (text: string, power: number): string => (power === 0 ? text : shiftText(text, power))
