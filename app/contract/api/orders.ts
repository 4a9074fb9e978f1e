import { z } from 'zod'
import { THERMOMETER_KINDS } from '../../kinds/table.ts'
import { LANGUAGES } from '../../records/certificate.ts'
import { ITEM_STATES, OCCASIONS } from '../../records/order.ts'
import { pageOf } from '../pages.ts'
import { apiBase, whole } from './call.ts'

const Name = z.string().trim().min(1).max(200)
const Celsius = z.number().min(-273.15).max(2000)

/** An order as another program sends it. Customer and thermometers are found again by name, and by serial number and owner. */
export const SentOrder = z.strictObject({
  number: Name.describe('Number of the order, as it stands on the certificates. A number is taken once.'),
  customer: z.strictObject({
    name: Name,
    address: z.array(z.string().max(200)).max(10).default([]),
    contact: z.string().max(200).default(''),
    email: z.string().max(200).default(''),
    language: z.enum(LANGUAGES).default('en').describe('Language of the certificates.'),
  }),
  received: z.iso.date().optional().describe('Absent: today.'),
  wantedBy: z.iso.date().optional(),
  remarks: z.array(z.string().max(1000)).max(20).default([]),
  items: z
    .array(
      z.strictObject({
        thermometer: z.strictObject({
          serial: Name,
          name: Name,
          kind: z.enum(THERMOMETER_KINDS).default('prt'),
          maker: z.string().max(200).default(''),
          model: z.string().max(200).default(''),
          nominalOhm: z.number().positive().optional().describe('Nominal resistance, ohm.'),
        }),
        lowC: Celsius.describe('Lower end of the range asked for, degC.'),
        highC: Celsius.describe('Upper end, degC.'),
        points: z
          .array(Celsius)
          .max(50)
          .default([])
          .describe('Temperatures asked for, degC; none: the laboratory chooses.'),
        condition: z.string().max(1000).default(''),
        occasion: z.enum(OCCASIONS).default('as-found'),
      }),
    )
    .min(1)
    .max(200),
})
export type SentOrder = z.output<typeof SentOrder>

export const OrderOfApi = z.strictObject({
  number: z.string(),
  customer: z.string(),
  received: z.string(),
  wantedBy: z.string().nullable(),
  items: z.array(
    z.strictObject({
      id: z.string(),
      thermometer: z.string(),
      name: z.string(),
      serial: z.string(),
      state: z.enum(ITEM_STATES),
      steps: z.array(z.strictObject({ state: z.enum(ITEM_STATES), utc: z.iso.datetime() })),
      session: z.string().nullable(),
    }),
  ),
})
export type OrderOfApi = z.output<typeof OrderOfApi>

export const CertificateOfApi = z.strictObject({
  item: z.string(),
  session: z.string(),
  thermometer: z.string(),
  serial: z.string(),
  number: z.string(),
  version: z.int(),
  /** Addresses of its files, from the root of this host. */
  pdf: z.string(),
  xml: z.string().nullable(),
})

export const ordersApi = {
  list: apiBase
    .route({ method: 'GET', path: '/orders', summary: 'Orders, the last changed first', tags: ['orders'] })
    .input(z.strictObject({ search: z.string().max(1000).default(''), from: whole(0), most: whole(50, 200) }))
    .output(
      pageOf(
        z.strictObject({
          number: z.string(),
          customer: z.string(),
          received: z.string(),
          wantedBy: z.string().nullable(),
          states: z.partialRecord(z.enum(ITEM_STATES), z.int()),
        }),
      ),
    ),
  send: apiBase
    .route({
      method: 'POST',
      path: '/orders',
      summary: 'Send an order in',
      successStatus: 201,
      tags: ['orders'],
    })
    .input(SentOrder)
    .output(OrderOfApi),
  get: apiBase
    .route({
      method: 'GET',
      path: '/orders/{number}',
      summary: 'One order with its items and their states',
      tags: ['orders'],
    })
    .input(z.strictObject({ number: Name }))
    .output(OrderOfApi),
  certificates: apiBase
    .route({
      method: 'GET',
      path: '/orders/{number}/certificates',
      summary: 'Signed certificates of an order',
      tags: ['certificates'],
    })
    .input(z.strictObject({ number: Name }))
    .output(z.array(CertificateOfApi)),
}
