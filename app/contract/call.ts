import { oc } from '@orpc/contract'
import { z } from 'zod'
import { Message } from '../messages/message.ts'

/** What the calls of the contract are made of. */

/**
 * A sentence that says what to do; beside it the message that it was made of, for a window that speaks another language, and of
 * which kind the refusal is.
 */
const refusal = {
  data: z.strictObject({
    words: z.string(),
    kind: z.string(),
    code: z.string(),
    args: z.record(z.string(), z.union([z.string(), Message])),
  }),
}
export const base = oc.errors({
  REFUSED: refusal,
  NOT_FOUND: refusal,
  FORBIDDEN: refusal,
  BUSY: refusal,
  SIGN_IN: refusal,
})

export const Id = z.string().min(1).max(200)
export const Ok = z.strictObject({ words: z.string() })
export const Why = z.string().max(2000)
/** The runtime's own Blob, as far as the contract needs it. */
declare const Blob: { new (): { readonly size: number; arrayBuffer(): Promise<ArrayBuffer> } }
export const Bytes = z.instanceof(Blob)
export const QUANTITIES = ['raw', 'resistance', 'temperature', 'deviation'] as const
export const QuantityName = z.enum(QUANTITIES)
export const Stretch = { session: Id, fromUtcUs: z.int().optional(), toUtcUs: z.int().optional() }
