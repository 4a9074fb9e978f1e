import { z } from 'zod'
import { BenchState } from '../records/bench-state.ts'
import { base, Id, Ok, Why } from './call.ts'

/** Several benches that are one laboratory: how each stands, and what two of them said of the same record. */

/** One bench, as it was last heard of. */
export const BenchLine = z.strictObject({
  station: z.string(),
  name: z.string(),
  /** The bench of this station. */
  own: z.boolean(),
  /** Nothing was heard of it for longer than it may be silent. */
  silent: z.boolean(),
  /** null: it has not told, or in a form that this program does not know. */
  state: BenchState.nullable(),
})
export type BenchLine = z.output<typeof BenchLine>

/** A record as one side left it, with the fields in which the sides differ. */
export const SideView = z.strictObject({
  hash: z.string(),
  who: z.string(),
  bench: z.string(),
  utcUs: z.int(),
  why: z.string(),
  /** Whether this one holds until somebody decides. */
  holds: z.boolean(),
  state: z.enum(['kept', 'retired', 'removed']),
  /** In the order of the other sides' fields. */
  values: z.array(z.string()),
})
export const Undecided = z.strictObject({
  kind: z.string(),
  id: z.string(),
  name: z.string(),
  /** Fields in which the sides differ: 'calibrations 2 due'. */
  fields: z.array(z.string()),
  sides: z.array(SideView),
})
export type Undecided = z.output<typeof Undecided>

export const laboratoryCalls = {
  /** How every bench of the laboratory stands, and how this station stands with its database. */
  benches: base.output(
    z.strictObject({
      /** null: a laboratory of one bench. */
      exchange: z
        .strictObject({
          state: z.enum(['connecting', 'up-to-date', 'away', 'refused']),
          words: z.string(),
          troubles: z.array(z.string()),
        })
        .nullable(),
      benches: z.array(BenchLine),
    }),
  ),
  /** Records that two benches changed at the same time. */
  undecided: base.output(z.array(Undecided)),
  /** Settles one of them: it is from now on as this side left it. */
  decide: base
    .input(z.strictObject({ kind: z.string(), id: Id, hash: z.string().length(64), why: Why.min(1) }))
    .output(Ok),
}
