import { z } from 'zod'
import { Ms, Name } from './schema-basics.ts'

/** A question and what its answer must be. All that is given must hold. */
export const Condition = z.strictObject({
  /** A command that only reads. */
  ask: Name,
  /** Bits that must be 1, bits that must be 0 (for an answer of bits). */
  set: z.int().nonnegative().optional(),
  clear: z.int().nonnegative().optional(),
  /** The whole answer, or one of several. */
  equals: z.union([z.string(), z.array(z.string()).min(1)]).optional(),
  /** Bounds of a value, in its unit; the bounds themselves count as within. */
  least: z.number().optional(),
  most: z.number().optional(),
})
export type Condition = z.output<typeof Condition>

/** Does `do` where the answer is so, and `else` where it is not. */
export interface Branch {
  readonly when: Condition
  readonly do: readonly Step[]
  readonly else?: readonly Step[] | undefined
}

/** Does its steps over and over, `most` times at most. Where `until` is given and not met by then, that is a fault. */
export interface Loop {
  readonly repeat: readonly Step[]
  readonly most: number
  readonly until?: Condition | undefined
  /** Pause between two rounds, ms. */
  readonly everyMs?: number | undefined
}

/** One thing to do: a command by its name, a branch on an answer, or a loop that ends. */
export type Step = string | Branch | Loop

const MOST_ROUNDS = 10_000

const OneStep: z.ZodType<Step> = z.lazy(() =>
  z.union([
    Name,
    z.strictObject({ when: Condition, do: Steps, else: Steps.optional() }),
    z.strictObject({
      repeat: Steps,
      most: z.int().positive().max(MOST_ROUNDS),
      until: Condition.optional(),
      everyMs: Ms.optional(),
    }),
  ]),
)
export const Steps: z.ZodType<readonly Step[]> = z.lazy(() => z.array(OneStep).min(1))
export const NoneOrMoreSteps: z.ZodType<readonly Step[]> = z.lazy(() => z.array(OneStep))

/** What is done and asked in steps, each with where it stands; conditions are told apart from what is done. */
export function* walkSteps(
  steps: readonly Step[],
  path: readonly (string | number)[] = [],
): Generator<{ path: readonly (string | number)[]; command: string; condition?: Condition }> {
  for (const [i, step] of steps.entries()) {
    const at = [...path, i]
    if (typeof step === 'string') yield { path: at, command: step }
    else if ('when' in step) {
      yield { path: [...at, 'when', 'ask'], command: step.when.ask, condition: step.when }
      yield* walkSteps(step.do, [...at, 'do'])
      yield* walkSteps(step.else ?? [], [...at, 'else'])
    } else {
      yield* walkSteps(step.repeat, [...at, 'repeat'])
      if (step.until !== undefined)
        yield { path: [...at, 'until', 'ask'], command: step.until.ask, condition: step.until }
    }
  }
}

/** Names of all commands that steps may send, in whichever branch. */
export function commandsIn(steps: readonly Step[] | undefined): string[] {
  return [...walkSteps(steps ?? [])].map(({ command }) => command)
}
