/** Error numbers and texts of SCPI-99 that the lab's instruments use (from memory of the standard's list). */
export const SCPI_ERRORS = {
  [-102]: 'Syntax error',
  [-104]: 'Data type error',
  [-108]: 'Parameter not allowed',
  [-109]: 'Missing parameter',
  [-113]: 'Undefined header',
  [-131]: 'Invalid suffix',
  [-211]: 'Trigger ignored',
  [-213]: 'Init ignored',
  [-221]: 'Settings conflict',
  [-222]: 'Data out of range',
  [-230]: 'Data corrupt or stale',
  [-240]: 'Hardware error',
  [-350]: 'Queue overflow',
  [-363]: 'Input buffer overrun',
  [-410]: 'Query INTERRUPTED',
  [-420]: 'Query UNTERMINATED',
} as const

export type ScpiErrorNumber = keyof typeof SCPI_ERRORS

/** A command that cannot be done. The number goes to the error queue. */
export class ScpiFault extends Error {
  readonly number: ScpiErrorNumber
  constructor(number: ScpiErrorNumber) {
    super(`${number},"${SCPI_ERRORS[number]}"`)
    this.name = 'ScpiFault'
    this.number = number
  }
}

export const EVENT = { OPC: 1, QYE: 4, DDE: 8, EXE: 16, CME: 32, PON: 128 } as const

/** Bit of the event status register that an error sets. */
export function eventBit(number: number): number {
  if (number <= -100 && number > -200) return EVENT.CME
  if (number <= -200 && number > -300) return EVENT.EXE
  if (number <= -400 && number > -500) return EVENT.QYE
  return EVENT.DDE
}
