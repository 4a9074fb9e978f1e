import { CodedError } from '../base/coded-error.ts'

/** What can be wrong with a request for a temperature; closed, so that a caller can handle every case. */
export type ThermometryCode =
  | 'outside-range'
  | 'not-finite'
  | 'no-answer'
  | 'missing-coefficient'
  | 'unknown-coefficient'
  | 'missing-value'
  | 'wrong-quantity'
  | 'not-enough-points'
  | 'unknown-subrange'
  | 'unknown-fixed-point'
  | 'not-positive'
  | 'same-current'
  | 'not-determined'
  | 'bad-date'

/** A fault in thermometry: a closed code, the facts as fields, and a sentence that says what to do. */
export class ThermometryError extends CodedError<ThermometryCode> {}
