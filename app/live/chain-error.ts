import { CodedError } from '../base/coded-error.ts'

export type ChainCode =
  | 'unknown-thermometer'
  | 'unknown-resistor'
  | 'resistor-not-calibrated'
  | 'unknown-channel'
  | 'circle'

/** A chain that cannot be built from the bench and register as they are. */
export class ChainError extends CodedError<ChainCode> {}
