import { z } from 'zod'

/** What a control chart is kept of. */
export const CHART_KINDS = ['rwtp', 'check-thermometer', 'resistor', 'bridge'] as const
export type ChartKind = (typeof CHART_KINDS)[number]

/** A control chart with its verdict; `u` standard, all in `unit`. */
export const ChartView = z.strictObject({
  name: z.string(),
  unit: z.string(),
  entries: z.array(
    z.strictObject({ date: z.string(), value: z.number(), u: z.number(), session: z.string().nullable() }),
  ),
  centre: z.number(),
  /** Distances from the centre; null with too few entries. */
  limits: z.strictObject({ warning: z.number(), action: z.number() }).nullable(),
  findings: z.array(
    z.strictObject({ date: z.string(), rule: z.enum(['action', 'warning', 'run']), words: z.string() }),
  ),
  /** Whether it is in control, in words, and what to do where it is not. */
  verdict: z.string(),
})
export type ChartView = z.output<typeof ChartView>
