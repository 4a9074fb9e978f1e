import { z } from 'zod'
import { Conversion } from '../kinds/conversion.ts'
import { SessionInfo } from '../records/session.ts'

/** What is studied rather than watched: previews, fits, comparisons, verification. */

export const PlanHelp = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('window'), windowS: z.number() }),
  z.strictObject({ kind: z.literal('wait'), maxWaitS: z.number() }),
  /** Every setpoint at this temperature. */
  z.strictObject({ kind: z.literal('leave-out'), celsius: z.number() }),
  z.strictObject({ kind: z.literal('go'), place: z.enum(['bench', 'register']) }),
])
export type PlanHelp = z.output<typeof PlanHelp>

export const PlanPreview = z.strictObject({
  steps: z.array(
    z.strictObject({
      step: z.int(),
      celsius: z.number(),
      travelS: z.number(),
      settleS: z.number(),
      measureS: z.number(),
      /** For what hands do after the point, and for reading again. */
      actsS: z.number(),
      startS: z.number(),
      endS: z.number(),
    }),
  ),
  totalS: z.number(),
  /** Earlier nights on this bench that its times rest on. */
  nights: z.int().nonnegative(),
  readings: z.int(),
  bytes: z.number(),
  /** Each with a remedy. 'stop' forbids the start, 'warning' must be accepted by its id. */
  checks: z.array(
    z.strictObject({
      id: z.string(),
      severity: z.enum(['fine', 'note', 'warning', 'stop']),
      words: z.string(),
      remedy: z.string(),
      /** What the window can do about it at a press: a change of the plan, or the place where it is put right. */
      help: PlanHelp.optional(),
    }),
  ),
})
export type PlanPreview = z.output<typeof PlanPreview>

/** What a plan's results will be, before anything is started. */
export const Foretold = z.strictObject({
  /** Earlier nights on the bench that it rests on. */
  nights: z.int().nonnegative(),
  /** Why nothing can be foretold on this bench; null where it can. */
  refusal: z.string().nullable(),
  results: z.array(
    z.strictObject({
      channel: z.string(),
      name: z.string(),
      refusal: z.string().nullable(),
      /** At each temperature of the plan: expanded uncertainty of the curve, mK, its k, and the largest parts of u². */
      at: z.array(
        z.strictObject({
          celsius: z.number(),
          expandedMk: z.number(),
          k: z.number(),
          most: z.array(z.strictObject({ name: z.string(), part: z.number() })),
        }),
      ),
    }),
  ),
  /** What could be done otherwise, what it would bring (largest U of a thermometer over the plan, mK) and what it costs, s. */
  changes: z.array(
    z.strictObject({
      id: z.string(),
      words: z.string(),
      moreS: z.number(),
      moved: z.array(
        z.strictObject({ channel: z.string(), name: z.string(), fromMk: z.number(), toMk: z.number() }),
      ),
    }),
  ),
  remarks: z.array(z.string()),
})
export type Foretold = z.output<typeof Foretold>

export const FitView = z.strictObject({
  channel: z.string(),
  thermometer: z.string(),
  name: z.string(),
  model: z.string(),
  /** null with `refusal` where the points do not determine the coefficients. */
  conversion: Conversion.nullable(),
  refusal: z.string().nullable(),
  coefficients: z.array(
    /** `u` standard uncertainty; k of the expanded one, by its degrees of freedom. */
    z.strictObject({ name: z.string(), value: z.number(), u: z.number(), k: z.number(), unit: z.string() }),
  ),
  degreesOfFreedom: z.number(),
  residualSdMk: z.number(),
  points: z.array(
    z.strictObject({
      point: z.string(),
      celsius: z.number(),
      signal: z.number(),
      residualMk: z.number(),
      leaveOneOutMk: z.number().nullable(),
      /** Expanded uncertainty of the point, mK, and its k. */
      expandedMk: z.number(),
      k: z.number(),
      included: z.boolean(),
      /** Budget lines, largest first. */
      budget: z.array(
        z.strictObject({
          name: z.string(),
          uMk: z.number(),
          kind: z.enum(['A', 'B']),
          degreesOfFreedom: z.number().nullable(),
          source: z.string(),
        }),
      ),
      conformity: z.string().nullable(),
    }),
  ),
  /** Temperatures visited on the way up and on the way down: mean of the later less mean of the first, mK, and its U (k = 2). */
  hysteresis: z.array(
    z.strictObject({
      celsius: z.number(),
      first: z.string(),
      second: z.string(),
      differenceMk: z.number(),
      expandedMk: z.number(),
    }),
  ),
  /** Expanded uncertainty over the range for plots: celsius and mK. */
  band: z.array(
    z.strictObject({ celsius: z.number(), expandedMk: z.number(), deviationMk: z.number().nullable() }),
  ),
})
export type FitView = z.output<typeof FitView>

export const ArchiveRow = z.strictObject({
  info: SessionInfo,
  readings: z.int(),
  points: z.int(),
  bytes: z.number(),
  channels: z.array(z.string()),
  thermometers: z.array(z.string()),
  /** Small plot: temperature of the reference in up to 200 buckets. */
  sketch: z.array(z.number().nullable()),
  signedOffBy: z.string().nullable(),
  damaged: z.string().nullable(),
  /** Of a session of another bench of the laboratory: what that is called, and whether its file is still there alone. */
  bench: z.string().optional(),
  away: z.boolean().optional(),
})
export type ArchiveRow = z.output<typeof ArchiveRow>

export const VerifyResult = z.strictObject({
  whole: z.boolean(),
  readings: z.int(),
  batches: z.int(),
  head: z.string(),
  /** What is wrong first, in words; null when whole. */
  firstBreak: z.string().nullable(),
  words: z.string(),
})
export type VerifyResult = z.output<typeof VerifyResult>

export const Comparison = z.strictObject({
  words: z.string(),
  /** What matters first: how far each thermometer's result moved, mK, against the uncertainties of both. */
  moved: z.array(
    z.strictObject({
      thermometer: z.string(),
      name: z.string(),
      serial: z.string(),
      points: z.array(
        z.strictObject({
          celsius: z.number(),
          differenceMk: z.number(),
          expandedMk: z.number(),
          agrees: z.boolean(),
        }),
      ),
    }),
  ),
  lines: z.array(
    z.strictObject({
      key: z.string(),
      what: z.string(),
      old: z.string(),
      new: z.string(),
      difference: z.string(),
      unit: z.string(),
      changed: z.boolean(),
    }),
  ),
})
export type Comparison = z.output<typeof Comparison>

/** A number unfolded one step; `inputs` are again keys or readings. */
export const Thread = z.strictObject({
  key: z.string(),
  name: z.string(),
  value: z.string(),
  unit: z.string(),
  formula: z.string(),
  source: z.string(),
  inputs: z.array(
    z.strictObject({
      key: z.string().nullable(),
      name: z.string(),
      value: z.string(),
      unit: z.string(),
      words: z.string(),
    }),
  ),
  readings: z
    .strictObject({ channel: z.string(), firstSeq: z.int(), lastSeq: z.int(), count: z.int() })
    .nullable(),
})
export type Thread = z.output<typeof Thread>

export const LedgerEntry = z.strictObject({
  n: z.int(),
  utcUs: z.int(),
  who: z.string(),
  what: z.string(),
  subject: z.string(),
  old: z.string().nullable(),
  new: z.string().nullable(),
  why: z.string(),
  hash: z.string(),
})
export type LedgerEntry = z.output<typeof LedgerEntry>

export const ProfileRow = z.strictObject({
  id: z.string(),
  title: z.string(),
  role: z.string(),
  links: z.array(z.string()),
  from: z.enum(['program', 'user']),
  problem: z.string().nullable(),
  /** Measuring ranges it can be set to, each with what its maker states. */
  ranges: z.array(z.strictObject({ name: z.string(), words: z.string() })).default([]),
})
export type ProfileRow = z.output<typeof ProfileRow>

/** The certificate of one item of a session. */
export const CertificateRow = z.strictObject({
  thermometer: z.string(),
  name: z.string(),
  serial: z.string(),
  /** null: a draft that has no number yet. */
  number: z.string().nullable(),
  version: z.int().positive(),
  signed: z.boolean(),
  languages: z.array(z.string()),
  /** Name of its files without what they end in. */
  file: z.string(),
  /** Whether there is a result that a digital certificate can state. */
  digital: z.boolean(),
})
export type CertificateRow = z.output<typeof CertificateRow>

/** What one customer of a session gets. */
export const Parcel = z.strictObject({
  /** null: work for the laboratory itself. */
  customer: z.string().nullable(),
  address: z.array(z.string()),
  items: z.array(
    CertificateRow.omit({ languages: true }).extend({
      /** The version that this one replaces and recalls. */
      replaces: z.strictObject({ version: z.int(), date: z.string() }).nullable(),
    }),
  ),
})
export type Parcel = z.output<typeof Parcel>
