import { z } from 'zod'
import { RawUnit } from '../../app/records/reading.ts'
import { NUMBER_TYPES } from '../language/binary.ts'
import { MarkName, Pattern } from './schema-basics.ts'

/** A reply that is a number and nothing else. */
export const BARE_NUMBER = '^\\s*(?<value>\\S+)\\s*$'

const UnitOf = z.strictObject({ unit: RawUnit, power: z.int().min(-12).max(12).default(0) })
const NotZero = z
  .number()
  .min(-1e12)
  .max(1e12)
  .refine((n) => n !== 0, 'must not be 0')

/** From the instrument's number to ours: (number + plus) times `times` over `over`. Degrees Fahrenheit: -32, 5, 9. */
export const Linear = z.strictObject({
  plus: z.number().min(-1e12).max(1e12).default(0),
  times: NotZero.default(1),
  over: NotZero.default(1),
})
export type Linear = z.output<typeof Linear>

/** Binary numbers in a block, one after another. */
const Numbers = z.strictObject({ type: z.enum(NUMBER_TYPES), order: z.enum(['big', 'little']) })

/** Values of one answer: each of another input, or of another moment of the same input. */
const Many = z.strictObject({
  of: z.enum(['inputs', 'moments']),
  /** Stands between two values of a text; binary numbers need none. */
  separator: z.string().min(1).optional(),
  /** The input of the first value, where the values do not name theirs. */
  first: z.int().positive().default(1),
  /** The group `time` of the pattern times ten to this is in seconds, of the instrument's own count. */
  timePower: z.int().min(-12).max(12).default(0),
})

/** How a value is found in a reply. */
const ValueRule = z.strictObject({
  kind: z.literal('value'),
  /** Takes one part of a reply of several: parts are split at the separator. */
  field: z.strictObject({ separator: z.string().min(1), index: z.int().nonnegative() }).optional(),
  /** Named groups: value, and where there are any unit, status, input, time. */
  pattern: Pattern.default(BARE_NUMBER),
  unit: RawUnit,
  /** Unit letters the reply may carry and what they mean. A unit not listed makes the reply unreadable. */
  units: z.record(z.string(), UnitOf).optional(),
  comma: z.boolean().default(false),
  /** The reply is a block, or begins with one; the last line inside counts. */
  block: z.boolean().default(false),
  /** Texts in place of a number. */
  specials: z.record(z.string(), MarkName).default({}),
  /** Status letters that put a mark on the reading. */
  status: z.record(z.string(), MarkName).default({}),
  linear: Linear.optional(),
  numbers: Numbers.optional(),
  many: Many.optional(),
})
export type ValueRule = z.output<typeof ValueRule>

/** The words that say how a number is to be understood, wherever it stands. */
export const ValueWords = ValueRule.pick({
  units: true,
  comma: true,
  specials: true,
  status: true,
  linear: true,
})

export const Answer = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('none') }),
  z.strictObject({ kind: z.literal('acknowledge'), pattern: Pattern }),
  z.strictObject({ kind: z.literal('text'), pattern: Pattern.default('^.*$') }),
  /** A register; `pattern` has the group bits where more stands around it. */
  z.strictObject({
    kind: z.literal('bits'),
    base: z.union([z.literal(10), z.literal(16)]).default(10),
    pattern: Pattern.default('^(?<bits>.*)$'),
  }),
  ValueRule,
])
export type Answer = z.output<typeof Answer>
