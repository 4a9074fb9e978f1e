import { z } from 'zod'
import { RECORD_KINDS } from '../records/record-kinds.ts'
import { Id } from './call.ts'
import { LedgerEntry } from './studies.ts'

/** Lists that are asked for in pages: what is asked, and what a line holds. None ends without saying how many there are. */

/** Which lines are wanted: so many left out at the beginning, and so many given at most. */
export const pageAsked = (most: number, usual: number) => ({
  from: z.int().nonnegative().default(0),
  most: z.int().positive().max(most).default(usual),
})

export const pageOf = <R extends z.ZodType>(row: R) =>
  z.strictObject({
    /** Lines there are in all. */
    total: z.int(),
    rows: z.array(row),
  })

/** What a person types to find something; the station says in words what is too much. */
export const Search = z.string().max(20_000).default('')

export const RecordKindName = z.enum(
  Object.keys(RECORD_KINDS) as [keyof typeof RECORD_KINDS, ...(keyof typeof RECORD_KINDS)[]],
)
export type RecordKindName = z.output<typeof RecordKindName>

export const RECORD_STATES = ['kept', 'retired', 'removed'] as const
export const RECORD_SORTS = ['name', 'id', 'type', 'serial', 'owner', 'due', 'changed'] as const

export const RecordsAsked = z.strictObject({
  kinds: z.array(RecordKindName).min(1),
  search: Search,
  ids: z.array(Id).max(1000).optional(),
  /** Only those that name another record in this way: the items of an order. */
  link: z.strictObject({ role: z.string(), id: Id }).optional(),
  type: z.string().max(200).optional(),
  states: z.array(z.enum(RECORD_STATES)).min(1).default(['kept']),
  sort: z.enum(RECORD_SORTS).default('name'),
  reverse: z.boolean().default(false),
  ...pageAsked(500, 100),
})

/** One line of a list of records. */
export const RecordLine = z.strictObject({
  kind: z.string(),
  id: z.string(),
  name: z.string(),
  type: z.string(),
  serial: z.string(),
  owner: z.string(),
  due: z.string().nullable(),
  state: z.enum(RECORD_STATES),
  utcUs: z.int(),
  rev: z.int(),
  facts: z.record(z.string(), z.union([z.string(), z.number(), z.boolean(), z.null()])),
  damaged: z.string().nullable(),
})
export type RecordLine = z.output<typeof RecordLine>

export const SESSION_SORTS = [
  'started',
  'name',
  'operator',
  'readings',
  'points',
  'bytes',
  'length',
  'signed',
] as const

/** An entry of the ledger without what it changed. */
export const LedgerLine = LedgerEntry.omit({ old: true, new: true }).extend({
  /** Whether it is the newest save of a record that was there before: the one that can be taken back. */
  canTakeBack: z.boolean(),
})
export type LedgerLine = z.output<typeof LedgerLine>

export const DueLine = z.strictObject({
  entry: Id,
  name: z.string(),
  due: z.string(),
  days: z.int(),
  words: z.string(),
})
