export type ChainCode =
  | 'unknown-thermometer'
  | 'unknown-resistor'
  | 'resistor-not-calibrated'
  | 'unknown-channel'
  | 'circle'

/** A chain that cannot be built from the bench and register as they are. */
export class ChainError extends Error {
  readonly code: ChainCode
  readonly facts: Readonly<Record<string, unknown>>
  constructor(code: ChainCode, message: string, facts: Readonly<Record<string, unknown>>) {
    super(message)
    this.name = 'ChainError'
    this.code = code
    this.facts = facts
  }
}
