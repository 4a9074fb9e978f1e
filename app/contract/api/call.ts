import { oc } from '@orpc/contract'
import { z } from 'zod'

/** A message within another: its code and its own arguments, which may again be messages. */
const WithinText = z.strictObject({ code: z.string(), args: z.record(z.string(), z.unknown()) })

/** A sentence that says what to do, and the message it was made of: a code that stays, and its arguments. */
const refusal = {
  data: z.strictObject({
    words: z.string(),
    code: z.string(),
    args: z.record(z.string(), z.union([z.string(), WithinText])),
  }),
}

/** What calls of other programs are made of; the numbers are those of HTTP (RFC 9110, 15.5). */
export const apiBase = oc.errors({
  REFUSED: { ...refusal, status: 422, message: 'The station refuses this; the words say why.' },
  NOT_FOUND: { ...refusal, status: 404, message: 'There is no such thing.' },
  FORBIDDEN: { ...refusal, status: 403, message: 'This token has not the right.' },
  BUSY: { ...refusal, status: 429, message: 'Too much is asked just now.' },
})

/** A whole number as it stands in an address. */
export const whole = (usual: number, most = Number.MAX_SAFE_INTEGER) =>
  z.coerce.number().int().min(0).max(most).default(usual)
