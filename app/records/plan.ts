import { z } from 'zod'

const Id = z.string().min(1).max(80)

/** When a group of channels counts as steady. Judged on stored raw readings converted through each channel's chain. */
export const SettlingRule = z.strictObject({
  /** Readings of this long are looked at, s. */
  windowS: z.number().positive(),
  /** Upper confidence bound of |drift| must not pass this, mK/min. */
  driftMkPerMin: z.number().positive(),
  /** Experimental standard deviation within the window must not pass this, mK. */
  spreadMk: z.number().positive(),
  /** The window's mean must lie within this of the setpoint, K. */
  bandK: z.number().positive(),
  /** All of the above must hold this long, s. */
  holdS: z.number().nonnegative(),
  /** Confidence of the drift bound, one-sided. */
  confidence: z.number().gt(0.5).lt(1).default(0.95),
  /** Channels that must be settled; empty: every enabled channel that is not a monitor. */
  channels: z.array(Id).default([]),
  /** Window grows while noise hides the drift, up to windowS times this; 1: fixed. */
  adaptive: z.number().min(1).default(1),
})
export type SettlingRule = z.output<typeof SettlingRule>

/**
 * Orders of reading within a point. `sequence`: S X1..Xn. `symmetric`: S X1..Xn Xn..X1 S, which cancels linear drift.
 * `interleaved`: S X1 S X2 S .. Xn S.
 */
export const READING_ORDERS = ['sequence', 'symmetric', 'interleaved'] as const

export const Setpoint = z.strictObject({
  celsius: z.number(),
  /** up/down visits of the same temperature show hysteresis. */
  label: z.string().optional(),
  selfHeating: z.boolean().default(false),
  /** After its point the thermometers change places, so that the bath's gradient is told from them. */
  exchange: z.boolean().optional(),
  /** After its point the thermometers are lifted, to see the heat along their stems. */
  lift: z.boolean().optional(),
})
export type Setpoint = z.output<typeof Setpoint>

/** The list of setpoints, the settling rule, and the order of readings within a point. */
export const Plan = z.strictObject({
  id: Id,
  name: z.string(),
  setpoints: z.array(Setpoint).min(1),
  settling: SettlingRule,
  order: z.enum(READING_ORDERS).default('symmetric'),
  /** How many times the order is run through within one point. */
  cycles: z.int().positive().default(3),
  /** Longest wait for settling per setpoint, s, and what to do then. */
  maxWaitS: z
    .number()
    .positive()
    .default(4 * 3600),
  onTimeout: z.enum(['take-marked', 'skip', 'stop', 'extend']).default('take-marked'),
  /** Rate of a setpoint change, K/min; absent: one step. */
  rampKPerMin: z.number().positive().optional(),
  /** Channel resistance at the water triple point before and after the plan. */
  wtpCheck: z.boolean().default(false),
  /** Insulation of every resistance thermometer is measured by a person when the setpoints are through. */
  insulationCheck: z.boolean().optional(),
  /** Bath after the last point: to its safe setpoint, or stay. */
  atEnd: z.enum(['safe', 'stay']).default('safe'),
})
export type Plan = z.output<typeof Plan>
