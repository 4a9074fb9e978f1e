import { z } from 'zod'
import { base, Ok } from './call.ts'

/** What a person has half typed, kept on the station until it is saved. */

const Key = z.string().min(1).max(200)
const Who = z.string().min(1).max(200)

export const draftsCalls = {
  get: base
    .input(z.strictObject({ key: Key, who: Who }))
    .output(z.strictObject({ json: z.string(), utcUs: z.int() }).nullable()),
  put: base.input(z.strictObject({ key: Key, who: Who, json: z.string().max(200_000) })).output(Ok),
  drop: base.input(z.strictObject({ key: Key, who: Who })).output(Ok),
}
