/**
 * String data of IEEE 488.2: between quotes, a quote inside written twice. Single and double quotes both open one.
 *
 * Source  IEEE Std 488.2-1992, 7.7.5 and 8.7.8, from memory.
 */
export function readString(reply: string): string | undefined {
  const text = reply.trim()
  const quote = text[0]
  if ((quote !== '"' && quote !== "'") || text.length < 2 || text.at(-1) !== quote) return undefined
  const inner = text.slice(1, -1)
  const doubled = quote + quote
  if (inner.replaceAll(doubled, '').includes(quote)) return undefined
  return inner.replaceAll(doubled, quote)
}

/** Prints a string between double quotes. */
export function printString(text: string): string {
  return `"${text.replaceAll('"', '""')}"`
}
