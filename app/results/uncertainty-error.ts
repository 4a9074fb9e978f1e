import { CodedError } from '../base/coded-error.ts'

export type ComparisonCode =
  | 'bad-template'
  | 'no-reference'
  | 'no-calibration'
  | 'no-resistor'
  | 'no-points'
  | 'too-few-plateau-readings'
  | 'no-plateau'
  | 'not-a-fixed-point'
  | 'not-determined'
  | 'bad-input'
  | 'unknown-key'

/** A refusal of the comparison's results: a closed code, the facts, and a sentence that says what to do. */
export class ComparisonError extends CodedError<ComparisonCode> {}
