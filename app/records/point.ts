import { z } from 'zod'
import { MarkSchema } from './mark.ts'

/** What one channel contributed to a point. All temperatures through the chain in force; raw statistics beside them. */
export const PointChannel = z.strictObject({
  channel: z.string(),
  /** seq numbers of the readings used, first and last, and how many counted and were left out. */
  firstSeq: z.int(),
  lastSeq: z.int(),
  n: z.int(),
  leftOut: z.int(),
  /**
   * Mean of the raw quantity (ratio, ohm, mV ...) at this channel's own mean time, and its statistics; referenceC is the
   * reference at the very same times.
   */
  rawMean: z.number(),
  rawSd: z.number(),
  rawUnit: z.string(),
  nEffective: z.number(),
  /** Per second, in the raw unit, and its standard uncertainty. */
  rawDriftPerS: z.number(),
  uRawDriftPerS: z.number(),
  /** Resistance, ohm (or mV for thermocouples). */
  signal: z.number().nullable(),
  /** Zero-current resistance where a self-heating pair was taken. */
  signalZeroCurrent: z.number().nullable(),
  selfHeatingMk: z.number().nullable(),
  uSelfHeatingMk: z.number().nullable(),
  t90C: z.number().nullable(),
  sdMk: z.number().nullable(),
  driftMkPerMin: z.number().nullable(),
  /** Type A standard uncertainty of the mean, mK. */
  uTypeAMk: z.number().nullable(),
  /** Reference temperature interpolated to this channel's mean time, degC. */
  referenceC: z.number().nullable(),
  /** With several references: each of them interpolated so, degC. */
  references: z.array(z.strictObject({ channel: z.string(), celsius: z.number() })).optional(),
  /** How long before or after the reference's own readings these were taken on average, s; absent: they lie between. */
  referenceHeldS: z.number().nonnegative().optional(),
  /** Independent pairs of currents that the self-heating comes from. */
  nPairs: z.int().positive().optional(),
  marks: z.array(MarkSchema),
})
export type PointChannel = z.output<typeof PointChannel>

/**
 * Readings of one channel that made a point: all of this channel from one seq to another, both meant. Those of `order` are
 * the order of reading and what was read of the channel until the slowest lane had ended its own; those of `pair` are its
 * self-heating pair.
 */
export const PointReadings = z.strictObject({
  channel: z.string(),
  /** Meter that read it. */
  lane: z.string(),
  part: z.enum(['order', 'pair']),
  fromSeq: z.int().positive(),
  toSeq: z.int().positive(),
})
export type PointReadings = z.output<typeof PointReadings>

/** One captured state of the bath. */
export const Point = z.strictObject({
  id: z.string(),
  /** Index into the plan's setpoints, 0 ...; -1 for a point taken by hand outside a plan. */
  step: z.int(),
  setpointC: z.number(),
  label: z.string().nullable(),
  kind: z
    .enum(['comparison', 'wtp-before', 'wtp-after', 'plateau', 'self-heating', 'lift'])
    .default('comparison'),
  startUtcUs: z.int(),
  endUtcUs: z.int(),
  order: z.string(),
  cycles: z.int(),
  /** Where the thermometers stood, by name of the place, where the plan had them change places; absent: nobody moved them. */
  places: z.array(z.strictObject({ channel: z.string(), place: z.string() })).optional(),
  /** `lift`: how far the thermometers were pulled out of the fluid, mm. */
  liftMm: z.number().positive().optional(),
  settled: z.boolean(),
  /** Why it was taken, and by whom when by a person. */
  reason: z.string(),
  channels: z.array(PointChannel),
  /** Which readings made it, and no others; absent where the session is of a form before 4. */
  readings: z.array(PointReadings).optional(),
  marks: z.array(z.string()),
})
export type Point = z.output<typeof Point>
