import { oc } from '@orpc/contract'
import { z } from 'zod'

/** What the calls of the contract are made of. */

/** A sentence that says what to do; beside it a code and the facts in it, for a window that speaks another language. */
const refusal = {
  data: z.strictObject({
    words: z.string(),
    code: z.string().default('refused'),
    args: z.record(z.string(), z.union([z.string(), z.number(), z.boolean()])).default({}),
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
