import { CodedError } from '../../../app/base/coded-error.ts'

export type LaboratoryErrorCode =
  /** The database's tables have another form than this program knows. */
  | 'other-form'
  /** Another data folder works under this station's identity. */
  | 'two-identities'
  /** The same identity is connected just now. */
  | 'connected-already'

/** What stands between a station and its laboratory, with what can be done about it. */
export class LaboratoryError extends CodedError<LaboratoryErrorCode> {}
