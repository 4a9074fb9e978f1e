import { z } from 'zod'
import { MarkSchema } from './mark.ts'

/** Units a raw reading may carry. Closed on purpose: a unit is never free text. */
export const RAW_UNITS = ['ratio', 'ohm', 'mV', 'V', 'mA', 'degC', 'K', '%', 'Pa', 'hPa', '1'] as const
export const RawUnit = z.enum(RAW_UNITS)
export type RawUnit = z.output<typeof RawUnit>

/** One raw value as the instrument sent it. `raw` is kept for ever; `value` is its number, absent when it has none. */
export const Reading = z.strictObject({
  /** Running number within the session, 1, 2, 3 ... given by the store. */
  seq: z.int().positive(),
  /** Channel id of the bench. */
  channel: z.string(),
  utcUs: z.int(),
  monoUs: z.int(),
  /** The reply as received, without its terminator. Empty for silence. */
  raw: z.string(),
  /** The same number as decimal text exactly as sent, or null when the reply holds none. */
  value: z.string().nullable(),
  unit: RawUnit,
  marks: z.array(MarkSchema),
  /** Measuring current in mA where known (self-heating pairs differ in it). */
  currentMa: z.number().nullable(),
})
export type Reading = z.output<typeof Reading>
export type NewReading = Omit<Reading, 'seq'>
