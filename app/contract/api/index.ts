import { z } from 'zod'
import type { TokenRight } from '../../records/api-token.ts'
import { Point } from '../../records/point.ts'
import { Reading } from '../../records/reading.ts'
import { Bytes, Id } from '../call.ts'
import { pageOf } from '../pages.ts'
import { RUNNER_PHASES, Severity } from '../views.ts'
import { apiBase, whole } from './call.ts'
import { ordersApi } from './orders.ts'

const Time = z.iso.datetime()

const Now = z.strictObject({
  utc: Time,
  bench: z.string().nullable(),
  session: z.strictObject({ id: z.string(), name: z.string() }).nullable(),
  phase: z.enum(RUNNER_PHASES),
  words: z.string(),
  setpointC: z.number().nullable(),
  bathC: z.number().nullable(),
  expectedEnd: Time.nullable(),
  alarms: z.array(z.strictObject({ severity: Severity, words: z.string(), since: Time })),
})

const SessionOfApi = z.strictObject({
  id: z.string(),
  name: z.string(),
  operator: z.string(),
  started: Time,
  ended: Time.nullable(),
  ending: z.string().nullable(),
  readings: z.int(),
  points: z.int(),
  thermometers: z.array(z.string()),
  signedBy: z.string().nullable(),
})

const ReadingOfApi = Reading.pick({
  seq: true,
  channel: true,
  raw: true,
  value: true,
  unit: true,
  marks: true,
}).extend({
  utc: Time,
})

/** What other programs may ask of the station over HTTP, under /api/v1. Declared once: server, text and tests derive from it. */
export const apiContract = {
  state: apiBase
    .route({ method: 'GET', path: '/state', summary: 'What the station does now', tags: ['station'] })
    .output(Now),
  orders: ordersApi,
  certificate: apiBase
    .route({
      method: 'GET',
      path: '/certificates/{session}/{thermometer}/{format}',
      summary: 'File of a signed certificate',
      tags: ['certificates'],
    })
    .input(z.strictObject({ session: Id, thermometer: Id, format: z.enum(['pdf', 'xml']) }))
    .output(Bytes),
  sessions: {
    list: apiBase
      .route({ method: 'GET', path: '/sessions', summary: 'Sessions, the newest first', tags: ['sessions'] })
      .input(
        z.strictObject({
          search: z.string().max(1000).default(''),
          thermometer: Id.optional(),
          from: whole(0),
          most: whole(50, 200),
        }),
      )
      .output(pageOf(SessionOfApi)),
    points: apiBase
      .route({
        method: 'GET',
        path: '/sessions/{session}/points',
        summary: 'Points of a session',
        tags: ['sessions'],
      })
      .input(z.strictObject({ session: Id }))
      .output(z.array(Point)),
    readings: apiBase
      .route({
        method: 'GET',
        path: '/sessions/{session}/readings',
        summary: 'Readings of a session in the order they were stored',
        tags: ['sessions'],
      })
      .input(
        z.strictObject({
          session: Id,
          after: whole(0).describe('Running number of the last one that is known.'),
          most: whole(1000, 5000),
        }),
      )
      .output(z.strictObject({ last: z.int(), rows: z.array(ReadingOfApi) })),
  },
}

/** Of every call, the right that its token must have, by the names of its procedure. */
export const API_NEEDS: Readonly<Record<string, TokenRight>> = {
  state: 'read-state',
  'orders.list': 'read-orders',
  'orders.send': 'send-orders',
  'orders.get': 'read-orders',
  'orders.certificates': 'read-certificates',
  certificate: 'read-certificates',
  'sessions.list': 'read-sessions',
  'sessions.points': 'read-sessions',
  'sessions.readings': 'read-sessions',
}

/** Where the interface stands on the page's own host. */
export const API_PREFIX = '/api/v1'
