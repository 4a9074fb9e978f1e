/** Reads a register's reply in the given base; undefined when it is not a number of that base. */
export function readRegister(reply: string, base: 10 | 16): number | undefined {
  const text = reply.trim()
  if (!(base === 10 ? /^[+-]?\d{1,10}$/ : /^[0-9a-fA-F]{1,8}$/).test(text)) return undefined
  return Number.parseInt(text, base)
}
