import { CodedError } from '../../../app/base/coded-error.ts'

/** Why a key, a signature or a stamp cannot be used; the words say what to do. */
type SigningCode =
  | 'bad-key-file'
  | 'wrong-password'
  | 'no-key'
  | 'key-expired'
  | 'stamp-refused'
  | 'stamp-unreachable'
  | 'stamp-from-future'
  | 'not-signed'

export class SigningError extends CodedError<SigningCode> {}
