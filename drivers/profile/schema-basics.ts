import { z } from 'zod'
import { MARK_NAMES } from '../../app/records/mark.ts'
import { compilePattern } from '../language/pattern.ts'

export const Ms = z.number().nonnegative().max(600_000)
export const Bytes = z
  .string()
  .regex(/^[^\u0100-\uffff]*$/, 'only characters that are one byte (U+0000 to U+00FF)')
export const Name = z.string().regex(/^[a-z][a-z0-9-]*$/, 'lower-case words joined by hyphens')
export const Pattern = z
  .string()
  .max(2_000)
  .superRefine((source, context) => {
    try {
      compilePattern(source)
    } catch (error) {
      context.addIssue({
        code: 'custom',
        message: `not a pattern that always ends (syntax of RE2: no look-around, no references back): ${(error as Error).message}`,
      })
    }
  })
export const MarkName = z.enum(MARK_NAMES)
