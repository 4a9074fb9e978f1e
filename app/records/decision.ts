import { z } from 'zod'
import { CertificateWish } from './certificate.ts'
import { SessionItem } from './order.ts'

/**
 * What a person decided about a session's results, as the data of an event. Whoever writes one makes it here, and whoever
 * reads one parses it with the same schema.
 */
export const LeaveOut = z.object({
  act: z.literal('leave-out'),
  point: z.string(),
  /** One channel of the point; absent: all of it. */
  channel: z.string().optional(),
  why: z.string(),
  /** Taken back in. */
  restore: z.boolean().default(false),
})
export type LeaveOut = z.output<typeof LeaveOut>

export const CertificateWished = z.object({
  act: z.literal('certificate-wish'),
  thermometer: z.string(),
  wish: CertificateWish,
})

export const Decision = z.discriminatedUnion('act', [LeaveOut, CertificateWished])
export type Decision = z.output<typeof Decision>

/** What an amendment leaves out or, with `restore`, takes back in. */
export const AmendmentTarget = z.discriminatedUnion('what', [
  z.object({ what: z.literal('point'), point: z.string(), channel: z.string().optional() }),
  z.object({ what: z.literal('readings'), channel: z.string(), fromSeq: z.int(), toSeq: z.int() }),
])
export type AmendmentTarget = z.output<typeof AmendmentTarget>

/** What an amendment says of the customers of a session's items, by item: as the order has them now. */
export const AmendedCustomers = z.record(z.string(), SessionItem.shape.customer)

/** The decision that an event holds; undefined for other events, and for decisions about the running session. */
export const decisionIn = ({ kind, data }: { kind: string; data: unknown }): Decision | undefined =>
  kind === 'decision' ? Decision.safeParse(data).data : undefined
