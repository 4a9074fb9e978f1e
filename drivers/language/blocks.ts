/**
 * Arbitrary block data of IEEE 488.2: definite `#<n><length><bytes>`, or indefinite `#0<bytes>` ended by the reply's own
 * terminator. Returns the bytes, one character each, or undefined when it is no block or shorter than it announces.
 *
 * Source  IEEE Std 488.2-1992, 8.7.9 and 8.7.10, from memory.
 */
export function readBlock(reply: string): string | undefined {
  if (reply[0] !== '#') return undefined
  const digits = Number(reply[1] ?? 'x')
  if (!Number.isInteger(digits)) return undefined
  if (digits === 0) return reply.slice(2)
  const count = reply.slice(2, 2 + digits)
  if (count.length !== digits || !/^\d+$/.test(count)) return undefined
  const bytes = reply.slice(2 + digits)
  return bytes.length === Number(count) ? bytes : undefined
}

/** Prints bytes as a definite-length block. */
export function printBlock(bytes: string): string {
  const count = String(bytes.length)
  return `#${count.length}${count}${bytes}`
}
