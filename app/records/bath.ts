import { z } from 'zod'
import { OutOfUse } from './out-of-use.ts'
import { Repairs } from './repair.ts'

const Id = z.string().min(1).max(80)

/** What was found of a bath when its uniformity was measured: places, depths, temperatures. */
export const BathSurvey = z.strictObject({
  id: Id,
  date: z.iso.date(),
  /** Who made it. */
  who: z.string().min(1),
  /** Places that were compared, by name, with how deep, mm. A difference needs two of them. */
  positions: z.array(z.strictObject({ name: z.string().min(1), depthMm: z.number().positive() })).min(2, {
    message: 'a survey compares at least two positions: name another one',
  }),
  /** Standard uncertainty of the difference of two places at some temperatures, mK, and its degrees of freedom. */
  points: z
    .array(
      z.strictObject({
        celsius: z.number(),
        uMk: z.number().nonnegative({ message: 'a standard uncertainty is not negative: give its size' }),
        degreesOfFreedom: z.number().positive(),
      }),
    )
    .min(1, { message: 'a survey has at least one temperature' }),
  note: z.string().optional(),
})
export type BathSurvey = z.output<typeof BathSurvey>

/** A bath as a thing that lasts: what holds it on a bench stands with the bench. */
export const Bath = z.strictObject({
  id: Id,
  name: z.string(),
  maker: z.string().default(''),
  model: z.string().default(''),
  serial: z.string().default(''),
  /** The day of the next survey. */
  due: z.iso.date().optional(),
  /** Dated surveys of its uniformity; the newest not after a session's day stands in place of the figure typed on the bench. */
  surveys: z.array(BathSurvey).optional(),
  repairs: Repairs,
  note: z.string().optional(),
  outOfUse: OutOfUse.optional(),
})
export type Bath = z.output<typeof Bath>
