import { z } from 'zod'
import { Bench } from './bench.ts'
import { CellPlan } from './cell-plan.ts'
import { CertificateWish } from './certificate.ts'
import { SessionItem } from './order.ts'
import { Plan } from './plan.ts'
import { Register } from './register.ts'

export const SESSION_ENDINGS = [
  'complete',
  'complete-with-marks',
  'stopped-safely',
  'stopped-by-person',
] as const

/** How a session ended, as a person reads it. */
export const ENDING_WORDS: Readonly<Record<(typeof SESSION_ENDINGS)[number], string>> = {
  complete: 'complete',
  'complete-with-marks': 'complete, some points marked',
  'stopped-safely': 'stopped by the station',
  'stopped-by-person': 'stopped by a person',
}

/** What a session file knows of itself. */
export const SessionInfo = z.strictObject({
  id: z.string(),
  /** UUID of the station that began it: ids are the minutes of one station. Absent before form 4. */
  station: z.uuid().optional(),
  name: z.string(),
  /** `look`: what was shown of a bench that stands by; kept for a day. */
  kind: z.enum(['comparison', 'fixed-point', 'recording', 'bridge-check', 'imported', 'look']),
  operator: z.string(),
  startedUtcUs: z.int(),
  endedUtcUs: z.int().nullable(),
  ending: z.enum(SESSION_ENDINGS).nullable(),
  endingReason: z.string().nullable(),
  program: z.string(),
  programVersion: z.string(),
  note: z.string(),
})
export type SessionInfo = z.output<typeof SessionInfo>

/** Everything that was set when the session began, kept with it for ever. */
export const SessionSetup = z.strictObject({
  bench: Bench,
  plan: Plan.nullable(),
  /** The sequence of cells that it runs; absent: none. */
  cells: CellPlan.optional(),
  register: Register,
  /** Profile id to its whole text. */
  profiles: z.record(z.string(), z.string()),
  laboratory: z.strictObject({
    name: z.string(),
    address: z.array(z.string()),
    country: z.string().length(2),
    logo: z.string().optional(),
    accreditation: z.string().optional(),
    /** Number and issue of the laboratory's calibration procedure. */
    procedure: z.string().optional(),
  }),
  /** Items of orders in the bath, by their thermometers: each with its own customer. Absent: work without an order. */
  items: z.array(SessionItem).optional(),
  /** Customer's items and remarks for the report. */
  job: z
    .strictObject({
      number: z.string(),
      customer: z.string(),
      customerAddress: z.array(z.string()),
      received: z.iso.date().optional(),
      remarks: z.array(z.string()).default([]),
      /** What was asked of each item's certificate, by thermometer. */
      wishes: z.record(z.string(), CertificateWish).optional(),
    })
    .nullable(),
})
export type SessionSetup = z.output<typeof SessionSetup>

/** The item of an order that a thermometer of a session is. */
export const itemOf = (
  { items }: Pick<SessionSetup, 'items'>,
  thermometer: string,
): SessionItem | undefined => items?.find((item) => item.thermometer === thermometer)

/** What is asked of the certificate of a thermometer. */
export const wishFor = (
  setup: Pick<SessionSetup, 'items' | 'job'>,
  thermometer: string,
): CertificateWish | undefined => itemOf(setup, thermometer)?.wish ?? setup.job?.wishes?.[thermometer]

/** The same session with another wish for the certificate of one thermometer. */
export function wishing(setup: SessionSetup, thermometer: string, wish: CertificateWish): SessionSetup {
  if (itemOf(setup, thermometer))
    return {
      ...setup,
      items: setup.items?.map((item) => (item.thermometer === thermometer ? { ...item, wish } : item)),
    }
  return setup.job
    ? { ...setup, job: { ...setup.job, wishes: { ...setup.job.wishes, [thermometer]: wish } } }
    : setup
}

/** Something that happened or was decided in a session: a step of the plan, a gap, a clock step, an act of a person. */
export const SessionEvent = z.strictObject({
  n: z.int().positive(),
  utcUs: z.int(),
  monoUs: z.int(),
  kind: z.enum([
    'opened',
    'resumed',
    'closed',
    'plan-step',
    'setpoint',
    'settled',
    'gap',
    'clock-step',
    'alarm',
    'alarm-acknowledged',
    'link',
    'decision',
    'note',
    'amendment',
    'sign-off',
    'environment',
  ]),
  /** 'station' or a person's name. */
  who: z.string(),
  /** Channel or instrument concerned, where one is. */
  subject: z.string().nullable(),
  /** The sentence a person reads. */
  words: z.string(),
  /** Facts as data; plan-step keeps the runner's state here. */
  data: z.record(z.string(), z.unknown()),
})
export type SessionEvent = z.output<typeof SessionEvent>
export type NewSessionEvent = Omit<SessionEvent, 'n'>
