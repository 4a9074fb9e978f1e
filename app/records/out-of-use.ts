import { z } from 'zod'

/** A reference, an instrument or a cell that must not be measured with: away for calibration, recalled, broken. */
export const OutOfUse = z.strictObject({
  since: z.iso.date(),
  /** Where it is, or what is wrong with it. */
  why: z.string().trim().min(1).max(500),
})
export type OutOfUse = z.output<typeof OutOfUse>

/** What a person is told of it: 'SPRT-1 is out of use since 2026-03-01: sent for calibration.' */
export const outOfUseWords = (name: string, { since, why }: OutOfUse): string =>
  `${name} is out of use since ${since}: ${why.replace(/[.\s]+$/, '')}.`
