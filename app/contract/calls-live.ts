import { eventIterator } from '@orpc/contract'
import { z } from 'zod'
import { SessionEvent } from '../records/session.ts'
import { Bytes, base, Id, Ok, QuantityName, Stretch } from './call.ts'
import { pageAsked, pageOf } from './pages.ts'
import { AlarmRules } from './settings.ts'
import { AlarmView, FASTEST_PACE, StationState } from './views.ts'

/** What is measured, what was, and the links it comes by. */

export const stationCalls = {
  /** The state now and again whenever it changes, at most about four times a second. */
  watch: base.output(eventIterator(StationState)),
  state: base.output(StationState),
  /** What somebody who helps needs to see, gzipped JSON; no secret is in it. */
  support: base.output(Bytes),
  /** Pace of a made-up clock; refused where the station keeps the time of the wall. */
  pace: base.input(z.strictObject({ pace: z.number().min(1).max(FASTEST_PACE) })).output(Ok),
  /** A practice station of its own, with its own records and its own clock: the address of its page. */
  practice: base.output(z.strictObject({ address: z.string() })),
}

export const liveCalls = {
  /**
   * Readings committed after `after` (0: the last `backlog` seconds), as columns seq u32, channel u8/u32 (index into
   * meta.channels), utcS f64, monoS f64, raw f64, resistance f64, temperature f64, marks u32 (bit i: MARK_NAMES[i]).
   * Waits up to `waitMs` for the first one. meta: {session, channels: string[], last: number}.
   */
  next: base
    .input(
      z.strictObject({
        after: z.int().nonnegative(),
        backlogS: z.number().positive().max(86_400).default(3600),
        waitMs: z.int().min(0).max(10_000).default(1000),
        most: z.int().positive().max(200_000).default(50_000),
      }),
    )
    .output(Bytes),
}

export const historyCalls = {
  /** Pyramid query: columns t f64 (s, UTC), min f64, max f64, mean f64, n u32 per bucket; empty buckets left out. */
  overview: base
    .input(
      z.strictObject({
        ...Stretch,
        channel: Id,
        quantity: QuantityName,
        buckets: z.int().min(10).max(10_000),
      }),
    )
    .output(Bytes),
  /** Single readings of a stretch: columns seq, utcS, value, marks and raw (text). */
  readings: base
    .input(
      z.strictObject({
        ...Stretch,
        channel: Id,
        quantity: QuantityName,
        most: z.int().positive().max(100_000),
      }),
    )
    .output(Bytes),
  statistics: base.input(z.strictObject({ ...Stretch, channel: Id, quantity: QuantityName })).output(
    z.strictObject({
      n: z.int(),
      leftOut: z.int(),
      mean: z.number().nullable(),
      sd: z.number().nullable(),
      nEffective: z.number().nullable(),
      standardError: z.number().nullable(),
      driftPerMin: z.number().nullable(),
      driftUncertaintyPerMin: z.number().nullable(),
      span: z.number().nullable(),
      allan: z.array(z.strictObject({ tauS: z.number(), deviation: z.number() })),
      unit: z.string(),
    }),
  ),
  events: base
    .input(
      z.strictObject({
        session: Id,
        kinds: z.array(SessionEvent.shape.kind).optional(),
        ...pageAsked(10_000, 1000),
      }),
    )
    .output(pageOf(SessionEvent)),
}

export const alarmsCalls = {
  list: base.input(z.strictObject(pageAsked(1000, 100))).output(pageOf(AlarmView)),
  acknowledge: base.input(z.strictObject({ id: Id })).output(Ok),
  rules: base.output(AlarmRules),
  saveRules: base.input(z.strictObject({ rules: AlarmRules })).output(Ok),
}

export const wireCalls = {
  /** Traffic of one link, or of all, from `backlog` lines back and then as it happens. */
  traffic: base
    .input(z.strictObject({ instrument: Id.optional(), backlog: z.int().min(0).max(5000).default(200) }))
    .output(
      eventIterator(
        z.strictObject({
          instrument: z.string(),
          utcUs: z.int(),
          direction: z.enum(['sent', 'received', 'note']),
          text: z.string(),
        }),
      ),
    ),
  /** `override` is needed while the link runs a session. */
  converse: base
    .input(
      z.strictObject({
        instrument: Id,
        line: z.string().min(1).max(1000),
        override: z.boolean().default(false),
      }),
    )
    .output(z.strictObject({ reply: z.string().nullable() })),
}
