import { z } from 'zod'

/** What one bench tells the others of itself, and no more: no address, no reading. */
export const BenchState = z.strictObject({
  /** What a person reads: 'Setpoint 3 of 5, 100 degC: waiting until settled'. */
  words: z.string().max(500),
  phase: z.string().max(40),
  /** Sign of the still water. */
  water: z.enum(['choppy', 'rippled', 'flat', 'broken', 'crossed', 'over']),
  session: z.string().max(200).nullable(),
  /** Who began the session. */
  responsible: z.string().max(200).nullable(),
  setpointC: z.number().nullable(),
  bathC: z.number().nullable(),
  expectedEndUtcUs: z.number().nullable(),
  /** Alarms that hold, the gravest first; `more`: how many are not in the list. */
  alarms: z
    .array(z.strictObject({ severity: z.enum(['notice', 'warning', 'alarm']), words: z.string().max(500) }))
    .max(5),
  moreAlarms: z.int(),
  /** Records of the register that are on the bench while it works: thermometers and resistors, and how warm the bath is. */
  inUse: z.array(z.string().max(80)).max(200),
})
export type BenchState = z.output<typeof BenchState>

/** Warmer than this, a thermometer that comes from a bath has to cool before it goes into another, degC. */
export const HOT_C = 50
