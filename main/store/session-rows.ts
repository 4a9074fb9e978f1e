import { z } from 'zod'
import { said } from '../../app/messages/said.ts'
import { Point } from '../../app/records/point.ts'
import { type NewSessionEvent, SessionEvent } from '../../app/records/session.ts'
import { StoreError } from './errors.ts'
import type { Db } from './sqlite.ts'

/** What an amendment is about. The rows it speaks of stay as they are. */
export const AmendmentTarget = z.discriminatedUnion('what', [
  z.strictObject({
    what: z.literal('point'),
    point: z.string(),
    /** One channel of the point; absent: the whole point. */
    channel: z.string().optional(),
  }),
  z.strictObject({
    what: z.literal('readings'),
    channel: z.string(),
    fromSeq: z.int().positive(),
    toSeq: z.int().positive(),
  }),
])
export type AmendmentTarget = z.output<typeof AmendmentTarget>

/** A later word on stored rows: left out, or taken back in, by whom, when and why. */
export interface Amendment {
  n: number
  utcUs: number
  who: string
  why: string
  /** null where it corrects something else, such as an entry of the register; its event has the data. */
  target: AmendmentTarget | null
  restore: boolean
}

export interface SignOff {
  n: number
  utcUs: number
  who: string
  remark: string
  /** Head of the chain that was signed: everything before this act. */
  head: string
  readings: number
}

const AmendmentData = z.looseObject({
  target: AmendmentTarget.nullable().default(null),
  restore: z.boolean().default(false),
  why: z.string().default(''),
})
const SignOffData = z.looseObject({ head: z.string(), readings: z.int(), remark: z.string() })

/** A row of the event table as it is stored and chained: n, utc_us, mono_us, kind, who, subject, words, data. */
export type EventRow = [number, number, number, string, string, string | null, string, string]
export const EVENT_COLUMNS = 'n, utc_us, mono_us, kind, who, subject, words, data'

/** As UTF-8 keeps it: half a surrogate pair becomes the replacement character before it is hashed, not after. */
export const asStored = (text: string) => Buffer.from(text, 'utf8').toString('utf8')

export const toEventRow = (n: number, event: NewSessionEvent): EventRow => [
  n,
  event.utcUs,
  event.monoUs,
  event.kind,
  asStored(event.who),
  event.subject === null ? null : asStored(event.subject),
  asStored(event.words),
  JSON.stringify(event.data),
]

export function parseStored<T extends z.ZodType>(schema: T, text: string, what: string): z.output<T> {
  let data: unknown
  try {
    data = JSON.parse(text)
  } catch (fault) {
    throw new StoreError('damaged', said('row-unreadable', { what }), {}, fault)
  }
  const parsed = schema.safeParse(data)
  if (!parsed.success)
    throw new StoreError(
      'damaged',
      said('row-of-wrong-form', { what, error: z.prettifyError(parsed.error) }),
      {},
    )
  return parsed.data
}

export function toEvent([n, utcUs, monoUs, kind, who, subject, words, data]: EventRow): SessionEvent {
  const event = SessionEvent.safeParse({
    n,
    utcUs,
    monoUs,
    kind,
    who,
    subject,
    words,
    data: parseStored(z.record(z.string(), z.unknown()), data, `Event ${n}`),
  })
  if (!event.success)
    throw new StoreError('damaged', said('event-of-wrong-form', { n, error: z.prettifyError(event.error) }), {
      n,
    })
  return event.data
}

export function readEvents(
  db: Db,
  {
    kinds,
    after = 0,
    most = 1_000_000,
  }: { kinds?: readonly string[] | undefined; after?: number | undefined; most?: number | undefined } = {},
): SessionEvent[] {
  const inKinds = kinds ? `AND kind IN (${kinds.map(() => '?').join(', ')})` : ''
  const rows = db
    .prepare(`SELECT ${EVENT_COLUMNS} FROM event WHERE n > ? ${inKinds} ORDER BY n LIMIT ?`)
    .raw()
    .all(after, ...(kinds ?? []), most) as EventRow[]
  return rows.map(toEvent)
}

export function readPoints(db: Db): Point[] {
  const rows = db.prepare('SELECT n, json FROM point ORDER BY n').raw().all() as [number, string][]
  return rows.map(([n, json]) => parseStored(Point, json, `Point ${n}`))
}

export function readAmendments(db: Db): Amendment[] {
  return readEvents(db, { kinds: ['amendment'] }).flatMap((event) => {
    const data = AmendmentData.safeParse(event.data)
    if (!data.success) return []
    const { target, restore, why } = data.data
    return [{ n: event.n, utcUs: event.utcUs, who: event.who, why, target, restore }]
  })
}

export function readSignOffs(db: Db): SignOff[] {
  return readEvents(db, { kinds: ['sign-off'] }).flatMap((event) => {
    const data = SignOffData.safeParse(event.data)
    if (!data.success) return []
    const { head, readings, remark } = data.data
    return [{ n: event.n, utcUs: event.utcUs, who: event.who, head, readings, remark }]
  })
}
