import { z } from 'zod'
import { ApiToken, TokenRight } from '../records/api-token.ts'
import { base, Id, Ok, Why } from './call.ts'

/** Tokens with which other programs talk to the station. */

/** A token as a window shows it: never the secret, nor its hash. */
export const TokenLine = ApiToken.omit({ sha256: true })
export type TokenLine = z.output<typeof TokenLine>

export const tokensCalls = {
  list: base.output(z.array(TokenLine)),
  /** `token` is told here and never again. */
  make: base
    .input(
      z.strictObject({
        name: z.string().trim().min(1).max(200),
        rights: z.array(TokenRight).min(1),
        ends: z.iso.date().optional(),
      }),
    )
    .output(z.strictObject({ token: z.string(), words: z.string() })),
  revoke: base.input(z.strictObject({ id: Id, why: Why.default('') })).output(Ok),
}
