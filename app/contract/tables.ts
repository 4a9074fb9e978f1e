import { z } from 'zod'
import { CHANNEL_ROLES } from '../records/bench.ts'
import { RawUnit } from '../records/reading.ts'

/** How the column of times of a table is written: ISO 8601, or a count of seconds, milliseconds or microseconds. */
export const TIME_FORMS = ['iso', 's', 'ms', 'us'] as const
export const DELIMITERS = [',', ';', '\t', '|'] as const

/** What a table recorded elsewhere looks like, as far as its first lines tell. */
export const TableLook = z.strictObject({
  columns: z.array(z.string()),
  /** The first rows, as they are written. */
  rows: z.array(z.array(z.string())),
  delimiter: z.enum(DELIMITERS),
  decimalSign: z.enum(['.', ',']),
  /** This program exported it: no column needs a meaning given by hand. */
  own: z.boolean(),
  /** Column that reads as a time; `zoned` where its times carry their zone. */
  time: z.strictObject({ column: z.string(), form: z.enum(TIME_FORMS), zoned: z.boolean() }).nullable(),
  /** Columns that hold numbers, with the unit their heading names. */
  numbers: z.array(z.strictObject({ column: z.string(), unit: RawUnit })),
})
export type TableLook = z.output<typeof TableLook>

/** What the columns of a table mean, said by a person. */
export const TableMeaning = z.strictObject({
  delimiter: z.enum(DELIMITERS),
  decimalSign: z.enum(['.', ',']),
  time: z
    .strictObject({
      column: z.string(),
      form: z.enum(TIME_FORMS),
      /** What a time without zone means, minutes east of UTC. */
      offsetMin: z.int().min(-840).max(840).nullable(),
      /** s, ms and us count from this moment; null: from 1970. */
      startUtcUs: z.int().nullable(),
    })
    .nullable(),
  channels: z.array(
    z.strictObject({
      column: z.string(),
      name: z.string(),
      unit: RawUnit,
      role: z.enum(CHANNEL_ROLES),
      thermometer: z.string().optional(),
      resistor: z.string().optional(),
      currentMa: z.number().positive().optional(),
    }),
  ),
})
export type TableMeaning = z.output<typeof TableMeaning>
