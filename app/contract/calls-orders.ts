import { z } from 'zod'
import { Customer } from '../records/customer.ts'
import { ITEM_STATES, Item, Order } from '../records/order.ts'
import { Plan } from '../records/plan.ts'
import { Thermometer } from '../records/register.ts'
import { base, Id, Ok, Why } from './call.ts'
import { Parcel } from './studies.ts'

/** Customers, their orders, and the items in them. */

/** An item with what a sheet shows beside it. */
export const ItemView = z.strictObject({
  item: Item,
  thermometer: Thermometer.nullable(),
  /** Who moved it on and when, oldest first. */
  steps: z.array(z.strictObject({ state: z.enum(ITEM_STATES), who: z.string(), utcUs: z.int() })),
})
export type ItemView = z.output<typeof ItemView>

export const OrderView = z.strictObject({
  order: Order,
  customer: Customer.nullable(),
  items: z.array(ItemView),
})
export type OrderView = z.output<typeof OrderView>

export const OrderLine = z.strictObject({
  id: z.string(),
  number: z.string(),
  customer: z.string(),
  received: z.string(),
  wantedBy: z.string().nullable(),
  /** How many items stand where. */
  states: z.partialRecord(z.enum(ITEM_STATES), z.int()),
  items: z.int(),
})
export type OrderLine = z.output<typeof OrderLine>

/** A night proposed for items of several orders. */
export const FillView = z.strictObject({
  placed: z.array(z.strictObject({ item: z.string(), channel: z.string(), own: z.array(z.number()) })),
  setpoints: z.array(z.number()),
  left: z.array(z.strictObject({ item: z.string(), words: z.string() })),
  /** Items that are on the bench: what a night that starts now measures. */
  onBench: z.array(z.string()),
  /** Every waiting item by name, its order and its customer. */
  waiting: z.array(
    z.strictObject({
      item: z.string(),
      name: z.string(),
      serial: z.string(),
      order: z.string(),
      customer: z.string(),
    }),
  ),
  /** Why nothing can be filled: no bench, no channel. */
  words: z.string().nullable(),
})
export type FillView = z.output<typeof FillView>

export const ordersCalls = {
  list: base
    .input(
      z.strictObject({
        search: z.string().max(1000).default(''),
        sort: z.enum(['number', 'wantedBy', 'changed']).default('changed'),
        from: z.int().nonnegative().default(0),
        most: z.int().positive().max(500).default(100),
      }),
    )
    .output(z.strictObject({ total: z.int(), rows: z.array(OrderLine) })),
  get: base.input(z.strictObject({ id: Id })).output(OrderView),
  /** The order and its items at once; thermometers that the register has not got yet come with them. */
  save: base
    .input(
      z.strictObject({
        order: Order,
        items: z.array(Item),
        thermometers: z.array(Thermometer).default([]),
        why: Why.default(''),
      }),
    )
    .output(Ok),
  move: base.input(z.strictObject({ item: Id, state: z.enum(ITEM_STATES), why: Why.default('') })).output(Ok),
  customers: base.output(z.array(Customer)),
  saveCustomer: base.input(z.strictObject({ customer: Customer, why: Why.default('') })).output(Ok),
  /** Which of the waiting items fit on the bench's bath tonight; only these where they are named. */
  fill: base.input(z.strictObject({ items: z.array(Id).optional() })).output(FillView),
  /** Puts placed items on their channels and joins their setpoints into a plan, which it returns. */
  prepare: base
    .input(
      z.strictObject({
        placed: z.array(z.strictObject({ item: Id, channel: Id })).min(1),
        setpoints: z.array(z.number()).min(1),
      }),
    )
    .output(z.strictObject({ plan: Plan, words: z.string() })),
  /** What the customer gets at the counter, as a page to print. */
  receipt: base.input(z.strictObject({ id: Id })).output(z.string()),
  /** What each customer of a session gets, and where mail for it would go. */
  parcels: base.input(z.strictObject({ session: Id })).output(
    z.strictObject({
      parcels: z.array(Parcel.extend({ email: z.string() })),
      /** Whether there is a mail server. */
      canMail: z.boolean(),
    }),
  ),
  /** Customers of a session's items whose name or address stands otherwise in their orders now. */
  changedCustomers: base.input(z.strictObject({ session: Id })).output(z.array(z.string())),
  /** Writes a folder with the certificates of a customer (or of all) on the station's computer, and mails it where asked. */
  deliver: base
    .input(z.strictObject({ session: Id, customer: z.string().optional(), mail: z.boolean().default(false) }))
    .output(Ok),
  exportCsv: base.output(z.string()),
  importCsv: base.input(z.strictObject({ text: z.string().max(5_000_000) })).output(Ok),
}
