import { z } from 'zod'
import type { SessionEvent } from '../records/session.ts'

/** What a person measured beside the readings, as an event of the session keeps it. */
const GuidedCheck = z.discriminatedUnion('check', [
  z.object({ check: z.literal('insulation'), channel: z.string(), ohm: z.number().positive() }),
])

/** Insulation resistances that were measured in a session, ohm, by channel; the last word on each. */
export function insulationOf(events: readonly SessionEvent[]): ReadonlyMap<string, number> {
  const found = new Map<string, number>()
  for (const { kind, data } of events) {
    if (kind !== 'decision') continue
    const check = GuidedCheck.safeParse(data)
    if (check.success) found.set(check.data.channel, check.data.ohm)
  }
  return found
}
