import { z } from 'zod'
import { KeptValidation } from '../validation/record.ts'
import { Bytes, base, Id, Ok } from './call.ts'

/** How the station knows that this very program computes right, and who accepted it for which use. */

/** A validation as a window shows it: without the record itself. */
export const ValidationLine = KeptValidation.omit({ packed: true })
export type ValidationLine = z.output<typeof ValidationLine>

export const ValidationState = z.strictObject({
  version: z.string(),
  /** Hash of the program as it is installed now. */
  fingerprint: z.string(),
  /** A validation that runs now. */
  running: z.strictObject({ done: z.number(), words: z.string() }).nullable(),
  /** The newest of this very program. */
  last: ValidationLine.nullable(),
  /** The newest of this very program that somebody accepted. */
  accepted: ValidationLine.nullable(),
  /** The newest that was accepted of a program before it. */
  before: ValidationLine.nullable(),
  /** Whether a report is signed only where this program is validated and accepted. */
  required: z.boolean(),
  words: z.string(),
})
export type ValidationState = z.output<typeof ValidationState>

export const validationCalls = {
  state: base.output(ValidationState),
  /** Runs every check on this program; answers when it has ended. */
  run: base.output(Ok),
  accept: base.input(z.strictObject({ id: Id, use: z.string().trim().min(1).max(1000) })).output(Ok),
  paper: base.input(z.strictObject({ id: Id, format: z.enum(['pdf', 'html', 'json']) })).output(Bytes),
}
