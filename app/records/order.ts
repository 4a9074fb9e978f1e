import { z } from 'zod'
import { CertificateWish, ItemWish } from './certificate.ts'

const Id = z.string().min(1).max(80)
const IsoDate = z.iso.date()

/** The way of an item through the laboratory, in its order. */
export const ITEM_STATES = ['received', 'on-bench', 'measured', 'reviewed', 'signed', 'delivered'] as const
export type ItemState = (typeof ITEM_STATES)[number]

/** Before any adjustment, or after it. */
export const OCCASIONS = ['as-found', 'as-left'] as const

/** What is asked of an item: the range, and the temperatures where the customer names them. */
export const Asked = z.strictObject({
  lowC: z.number(),
  highC: z.number(),
  /** Empty: the laboratory chooses within the range. */
  points: z.array(z.number()).default([]),
})
export type Asked = z.output<typeof Asked>

/** What a customer asks for at one time. */
export const Order = z.strictObject({
  id: Id,
  /** The order's number, as it stands on its receipt and on the certificates. */
  number: z.string().min(1),
  customer: Id,
  received: IsoDate,
  wantedBy: IsoDate.optional(),
  remarks: z.array(z.string()).default([]),
})
export type Order = z.output<typeof Order>

/** One thermometer of an order. Who moved it on and when stands in its versions. */
export const Item = z.strictObject({
  id: Id,
  order: Id,
  customer: Id,
  /** Register id of the thermometer; one that returns brings its history with it. */
  thermometer: Id,
  state: z.enum(ITEM_STATES).default('received'),
  condition: z.string().default(''),
  occasion: z.enum(OCCASIONS).default('as-found'),
  asked: Asked,
  wish: ItemWish.optional(),
  /** Where it was measured last. */
  session: z.string().optional(),
})
export type Item = z.output<typeof Item>

/** What a session keeps of an item in its bath: everything that its certificate says of the order, and nobody else's. */
export const SessionItem = z.strictObject({
  item: Id,
  thermometer: Id,
  order: z.string(),
  customer: z.strictObject({ name: z.string(), address: z.array(z.string()) }),
  received: IsoDate,
  condition: z.array(z.string()).default([]),
  occasion: z.enum(OCCASIONS),
  asked: Asked,
  wish: CertificateWish,
})
export type SessionItem = z.output<typeof SessionItem>

/** A bath is never quite at its setpoint: a point this near to what was asked for is one of it, K. */
const NEAR_K = 0.5

/** Whether a setpoint is one that was asked for: one of the temperatures named, or any within the range. */
export function isAsked({ lowC, highC, points }: Asked, celsius: number): boolean {
  if (points.length > 0) return points.some((asked) => Math.abs(asked - celsius) <= NEAR_K)
  return celsius >= lowC - NEAR_K && celsius <= highC + NEAR_K
}
