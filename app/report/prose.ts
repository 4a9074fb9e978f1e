/** A number with a unit behind it, or a stated k: what carries the laboratory's decimal sign within a sentence. */
const QUANTITY =
  /(?<![\d.§])(\d+)\.(\d+)(?=(?: × 10\S*)?(?:(?: to| bis| à| a| and|, | ±) \S+)? ?(?:°C|mK|K|%|Ω|mA|mm|mV|hPa|s|min)(?![\p{L}\d]))|(?<=\bk = )(\d+)\.(\d+)/gu

const HYPHEN_MINUS = /(?<=^|[\s(])-(?=\d)/g

/** A sentence with true minus signs and the laboratory's decimal sign in its quantities; numbers of clauses, versions and names are left alone. */
export function printedProse(text: string, decimalSign: '.' | ','): string {
  const minus = text.replace(HYPHEN_MINUS, '−')
  if (decimalSign === '.') return minus
  return minus.replace(QUANTITY, (_, whole, part, wholeK, partK) =>
    whole === undefined ? `${wholeK},${partK}` : `${whole},${part}`,
  )
}
