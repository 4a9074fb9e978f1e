import { CodedError } from '../base/coded-error.ts'

/** What a statistic can refuse. Closed: a reader of the code may switch over it. */
export type StatisticsErrorCode =
  | 'too-few-values'
  | 'not-finite'
  | 'length-mismatch'
  | 'out-of-range'
  | 'rank-deficient'
  | 'underdetermined'
  | 'negative-weight'
  | 'not-positive-definite'
  | 'unknown-name'
  | 'duplicate-name'
  | 'bad-expression'
  | 'not-differentiable'
  | 'model-undefined'

/** A refusal of this folder: a closed code, the facts, and a sentence that says what to do. */
export class StatisticsError extends CodedError<StatisticsErrorCode> {}
