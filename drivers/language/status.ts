/**
 * Bits of the standard event status register (*ESR?) and of the status byte (*STB?).
 *
 * Source  IEEE Std 488.2-1992, 11.5.1 and 11.2, from memory; error/event queue bit: SCPI-99 volume 1, 9, from memory.
 */
export const EVENT_BITS = {
  operationComplete: 1,
  queryError: 4,
  deviceError: 8,
  executionError: 16,
  commandError: 32,
  powerOn: 128,
} as const

export const STATUS_BITS = {
  errorQueue: 4,
  messageAvailable: 16,
  eventSummary: 32,
  masterSummary: 64,
} as const

/** The event bits that stand for an error. */
export const ERROR_EVENTS =
  EVENT_BITS.queryError | EVENT_BITS.deviceError | EVENT_BITS.executionError | EVENT_BITS.commandError

/** Reads a register's reply in the given base; undefined when it is not a number of that base. */
export function readRegister(reply: string, base: 10 | 16): number | undefined {
  const text = reply.trim()
  if (!(base === 10 ? /^[+-]?\d{1,10}$/ : /^[0-9a-fA-F]{1,8}$/).test(text)) return undefined
  return Number.parseInt(text, base)
}
