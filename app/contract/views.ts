import { z } from 'zod'
import { CHANNEL_ROLES, CHANNEL_UNITS } from '../records/bench.ts'
import { CELL_POINTS } from '../records/cell.ts'
import { MarkSchema } from '../records/mark.ts'
import { SESSION_ENDINGS } from '../records/session.ts'

/** Shapes the window is told. Never a database row or a driver's type. */

/** The still-water states: moving, within limits with hold time running, settled, silent, fault. */
export const WATER_STATES = ['choppy', 'rippled', 'flat', 'broken', 'crossed', 'over'] as const
export const WaterState = z.enum(WATER_STATES)
export type WaterState = z.output<typeof WaterState>

/** Judgement of the settling rule, for one channel or the group. */
export const SettlingView = z.strictObject({
  state: WaterState,
  /** 'Drift 1.8 mK/min, limit 0.5. About 14 min more.' */
  words: z.string(),
  /** Seconds still expected, null where it cannot be told. */
  remainingS: z.number().nullable(),
  /** 0 ... 1 of the hold time run. */
  held: z.number(),
})
export type SettlingView = z.output<typeof SettlingView>

/** A number with what a person needs to trust it. */
export const Quantity = z.strictObject({
  value: z.number().nullable(),
  unit: z.string(),
  /** Standard uncertainty in the same unit; decides the honest digits. */
  u: z.number().nullable(),
})
export type Quantity = z.output<typeof Quantity>

export const ChannelView = z.strictObject({
  id: z.string(),
  name: z.string(),
  role: z.enum(CHANNEL_ROLES),
  thermometer: z.string().nullable(),
  thermometerKind: z.string().nullable(),
  currentMa: z.number(),
  lastSeq: z.int().nullable(),
  lastUtcUs: z.int().nullable(),
  /** As sent by the instrument. */
  raw: z.string().nullable(),
  rawUnit: z.string(),
  /** Unit in which its bench shows it; null: as it is read. */
  unit: z.enum(CHANNEL_UNITS).nullable(),
  ratio: Quantity,
  resistance: Quantity,
  temperature: Quantity,
  /** Temperature less setpoint, mK. */
  deviationMk: z.number().nullable(),
  meanC: z.number().nullable(),
  sdMk: z.number().nullable(),
  driftMkPerMin: z.number().nullable(),
  marks: z.array(MarkSchema),
  settling: SettlingView,
})
export type ChannelView = z.output<typeof ChannelView>

export const LinkView = z.strictObject({
  instrument: z.string(),
  name: z.string(),
  role: z.string(),
  profile: z.string(),
  state: z.enum(['closed', 'connecting', 'ready', 'lost', 'stopped']),
  words: z.string(),
  address: z.string(),
  identity: z.string().nullable(),
  exchanges: z.int(),
  faults: z.int(),
})
export type LinkView = z.output<typeof LinkView>

export const RUNNER_PHASES = [
  'idle',
  'opening',
  'checking',
  'setting',
  'waiting',
  'measuring',
  'paused',
  'finishing',
  'stopping',
  'ended',
] as const

export const RunnerView = z.strictObject({
  phase: z.enum(RUNNER_PHASES),
  /** What a person reads: 'Setpoint 3 of 5, 100 degC: waiting until settled'. */
  words: z.string(),
  step: z.int().nullable(),
  steps: z.int(),
  setpointC: z.number().nullable(),
  bathC: z.number().nullable(),
  startedUtcUs: z.int().nullable(),
  expectedEndUtcUs: z.int().nullable(),
  /** Question to a person (a bath set by hand, say), null where none. */
  question: z.strictObject({ id: z.string(), words: z.string(), choices: z.array(z.string()) }).nullable(),
  ending: z.enum(SESSION_ENDINGS).nullable(),
  /** Where a sequence of cells stands; absent: none is run. */
  cells: z
    .strictObject({
      session: z.string(),
      step: z.int(),
      /** How the plateau of this step stands, in words; empty: nothing to say yet. */
      progress: z.string(),
      steps: z.array(
        z.strictObject({
          fixedPoint: z.enum(CELL_POINTS),
          state: z.enum(['taken', 'next', 'later']),
          /** Where its plateau lies in the session; null: not taken. */
          taken: z.looseObject({ fromUtcUs: z.int(), toUtcUs: z.int(), ohm: z.number() }).nullable(),
          /** Of a water: how far R(0.01 degC) moved since the one before, mK. */
          moved: z.strictObject({ mk: z.number(), expandedMk: z.number(), agrees: z.boolean() }).nullable(),
        }),
      ),
    })
    .optional(),
})
export type RunnerView = z.output<typeof RunnerView>

export const Severity = z.enum(['notice', 'warning', 'alarm'])
export type Severity = z.output<typeof Severity>

/** One thing on the night strip. */
export const StripMark = z.strictObject({
  kind: z.enum([
    'setpoint',
    'settled',
    'point',
    'gap',
    'alarm',
    'expected-setpoint',
    'expected-point',
    'note',
  ]),
  fromUtcUs: z.int(),
  toUtcUs: z.int(),
  words: z.string(),
  celsius: z.number().nullable(),
  /** Of an alarm, where it is known: a record of before may not say. */
  severity: Severity.optional(),
})
export type StripMark = z.output<typeof StripMark>

export const AlarmView = z.strictObject({
  id: z.string(),
  utcUs: z.int(),
  severity: Severity,
  subject: z.string().nullable(),
  words: z.string(),
  count: z.int(),
  active: z.boolean(),
  acknowledgedBy: z.string().nullable(),
  acknowledgedUtcUs: z.int().nullable(),
})
export type AlarmView = z.output<typeof AlarmView>

/** A night of four hours in two and a half minutes, a first plateau of zinc in three: where practice begins. */
export const PRACTICE_PACE = 100
/** As fast as the work goes. */
export const FASTEST_PACE = 1e6

/** Everything that changes slowly, sent whole a few times a second at most. */
export const StationState = z.strictObject({
  utcUs: z.int(),
  /** Virtual or scaled clocks say so on screen. */
  clock: z.enum(['real', 'scaled', 'virtual']),
  /** How many times as fast as the wall a made-up clock goes at most; null: that of the clock cannot be changed. */
  pace: z.number().positive().nullable(),
  program: z.string(),
  bench: z.strictObject({ id: z.string(), name: z.string() }).nullable(),
  session: z
    .strictObject({
      id: z.string(),
      name: z.string(),
      startedUtcUs: z.int(),
      readings: z.int(),
      /** Whether it is a look at the bench, which any session ends. */
      look: z.boolean(),
    })
    .nullable(),
  runner: RunnerView,
  group: SettlingView,
  channels: z.array(ChannelView),
  links: z.array(LinkView),
  strip: z.array(StripMark),
  alarms: z.array(AlarmView),
  disk: z.strictObject({ freeBytes: z.number(), words: z.string(), low: z.boolean() }),
  /** Counts up whenever points, register, plan or sessions changed: the window asks again for what it shows. */
  versions: z.strictObject({
    points: z.int(),
    register: z.int(),
    orders: z.int(),
    plans: z.int(),
    sessions: z.int(),
    bench: z.int(),
    settings: z.int(),
    /** Other benches of the laboratory, and how this station stands with them. */
    benches: z.int(),
  }),
})
export type StationState = z.output<typeof StationState>
