import { z } from 'zod'

/** What another program may do at the station. */
export const TOKEN_RIGHTS = [
  'read-state',
  'read-orders',
  'send-orders',
  'read-certificates',
  'read-sessions',
] as const
export const TokenRight = z.enum(TOKEN_RIGHTS)
export type TokenRight = z.output<typeof TokenRight>

export const TOKEN_RIGHT_WORDS: Readonly<Record<TokenRight, string>> = {
  'read-state': 'read what the station does now',
  'read-orders': 'read orders and the states of their items',
  'send-orders': 'send orders in',
  'read-certificates': 'fetch certificates that are signed',
  'read-sessions': 'read sessions, their points and readings',
}

const Act = z.strictObject({ who: z.string(), utcUs: z.int() })

/** The right of another program to talk to the station. The token itself is shown once and never kept. */
export const ApiToken = z.strictObject({
  id: z.string().min(1).max(80),
  /** Which program it is for. */
  name: z.string().trim().min(1).max(200),
  rights: z.array(TokenRight).min(1),
  /** SHA-256 of the token, hexadecimal. */
  sha256: z.string().regex(/^[0-9a-f]{64}$/),
  made: Act,
  /** Last day on which it holds, ISO 8601; absent: until it is revoked. */
  ends: z.iso.date().optional(),
  revoked: Act.optional(),
})
export type ApiToken = z.output<typeof ApiToken>
