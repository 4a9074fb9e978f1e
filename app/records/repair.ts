import { z } from 'zod'

/** What was done to a thing that may have changed it: a repair, an adjustment, a refill. */
export const Repair = z.strictObject({
  id: z.string().min(1).max(80),
  date: z.iso.date(),
  /** What was done. */
  what: z.string().min(1),
  /** Who did it. */
  who: z.string().min(1),
})
export type Repair = z.output<typeof Repair>

export const Repairs = z.array(Repair).optional()
