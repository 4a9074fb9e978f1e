import { z } from 'zod'
import { base, Ok } from './call.ts'

/** What a person has half typed, kept on the station until it is saved: each person's own. */

const Key = z.string().min(1).max(200)

export const draftsCalls = {
  get: base
    .input(z.strictObject({ key: Key }))
    .output(z.strictObject({ json: z.string(), utcUs: z.int() }).nullable()),
  put: base.input(z.strictObject({ key: Key, json: z.string().max(200_000) })).output(Ok),
  drop: base.input(z.strictObject({ key: Key })).output(Ok),
}
