import { CodedError } from '../../app/base/coded-error.ts'

export type StationCode =
  | 'folder-in-use'
  | 'folder-unusable'
  | 'no-bench'
  | 'no-plan'
  | 'session-runs'
  | 'no-session'
  | 'not-now'
  | 'refused'
  | 'no-such-question'
  | 'no-such-instrument'
  | 'no-such-alarm'
  | 'limits'

/** What the station will not do as things stand: a code, the facts, and a sentence that says what to do. */
export class StationError extends CodedError<StationCode> {}
