import { z } from 'zod'
import { FixedPointChoice } from './check-request.ts'

/** What a control chart is kept of. */
export const CHART_KINDS = ['rwtp', 'check-thermometer', 'resistor', 'bridge'] as const
export type ChartKind = (typeof CHART_KINDS)[number]

/** A control chart with its verdict; `u` standard, all in `unit`. */
export const ChartView = z.strictObject({
  name: z.string(),
  unit: z.string(),
  entries: z.array(
    z.strictObject({
      date: z.string(),
      value: z.number(),
      u: z.number(),
      session: z.string().nullable(),
      /** What it was judged by: entries before it only; null where they were too few. */
      judgedBy: z
        .strictObject({ centre: z.number(), warning: z.number(), action: z.number(), from: z.int() })
        .nullable(),
    }),
  ),
  centre: z.number(),
  /** Distances from the centre, for the newest; null with too few entries before it. */
  limits: z.strictObject({ warning: z.number(), action: z.number() }).nullable(),
  findings: z.array(
    z.strictObject({ date: z.string(), rule: z.enum(['action', 'warning', 'run']), words: z.string() }),
  ),
  /** Whether it is in control, in words, and what to do where it is not. */
  verdict: z.string(),
  /** Sessions that are still to be looked through for it: more entries may come. */
  pending: z.int(),
})
export type ChartView = z.output<typeof ChartView>

/** What a person says of a cell and of how its plateau is to be read; what is left out is taken from the records, or widely. */
export const CellSaid = z.strictObject({
  fixedPoint: FixedPointChoice,
  /** Register id of the cell: what is not said here is taken from its entry. */
  cell: z.string().min(1).max(80).optional(),
  depthM: z.number().nonnegative().optional(),
  uDepthM: z.number().nonnegative().optional(),
  pressurePa: z.number().positive().optional(),
  uPressurePa: z.number().nonnegative().optional(),
  uCellMk: z.number().nonnegative().optional(),
  uHeatFluxMk: z.number().nonnegative().optional(),
  selfHeating: z.strictObject({ mk: z.number().nonnegative(), uMk: z.number().nonnegative() }).optional(),
  /** The value is taken between these moments and no plateau is looked for. */
  used: z.strictObject({ fromUtcUs: z.int(), toUtcUs: z.int() }).optional(),
  /** Self-heating from the register even where the session measured at two currents. */
  withoutPair: z.boolean().optional(),
})
export type CellSaid = z.output<typeof CellSaid>

/** A plateau as it was found or chosen, with every correction and component; uncertainties standard. */
export const FoundPlateau = z.strictObject({
  kind: z.enum(['melt', 'freeze', 'hold', 'chosen']),
  /** Length of the whole plateau, s. */
  lengthS: z.number(),
  used: z.strictObject({ fromUtcUs: z.int(), toUtcUs: z.int(), firstSeq: z.int(), lastSeq: z.int() }),
  n: z.int(),
  nEffective: z.number(),
  sdMk: z.number(),
  driftMkPerHour: z.number(),
  rangeMk: z.number(),
  supercoolMk: z.number().nullable(),
  /** Mean of the readings, ohm, at the measuring current. */
  meanOhm: z.number(),
  /** At zero current, ohm, and the temperature the element had, degC. */
  ohm: z.number(),
  t90C: z.number(),
  ohmPerKelvin: z.number(),
  headMk: z.number(),
  pressureMk: z.number(),
  selfHeatingMk: z.number(),
  heatingFrom: z.enum(['two-currents', 'register', 'given', 'none']),
  pair: z
    .strictObject({
      lowMa: z.number(),
      highMa: z.number(),
      lowOhm: z.number(),
      highOhm: z.number(),
      nLow: z.int(),
      nHigh: z.int(),
      heatingMk: z.number(),
      uHeatingMk: z.number(),
    })
    .nullable(),
  components: z.array(
    z.strictObject({
      name: z.string(),
      uMk: z.number(),
      kind: z.enum(['A', 'B']),
      /** null: none that count. */
      degreesOfFreedom: z.number().nullable(),
      /** What has the same error of it. */
      sharedBy: z.enum(['nothing', 'cell', 'resistor']),
    }),
  ),
  uMk: z.number(),
  degreesOfFreedom: z.number().nullable(),
  /** With the R(WTP) the records know, or the one given. */
  w: z.number().nullable(),
  notes: z.array(z.string()),
  /** As a set of plateaus takes it. */
  request: z.record(z.string(), z.union([z.number(), z.string()])),
})
export type FoundPlateau = z.output<typeof FoundPlateau>

/** The record of one channel in a cell, thinned out for a plot, and the plateau in it. */
export const PlateauView = z.strictObject({
  date: z.string(),
  /** Register id. */
  thermometer: z.string().nullable(),
  currentMa: z.number(),
  readings: z.int(),
  utcS: z.array(z.number()),
  ohm: z.array(z.number()),
  found: FoundPlateau.nullable(),
  /** How it stands at the newest reading; null where none was found. */
  progress: z.strictObject({ phase: z.enum(['on', 'over']), words: z.string() }).nullable(),
  /** Why no plateau was found, in words. */
  problem: z.string().nullable(),
})
export type PlateauView = z.output<typeof PlateauView>

/** R(WTP) of a thermometer as a session measured it: what taking it into the register would enter. */
export const MeasuredWtpView = z.strictObject({
  thermometer: z.string(),
  name: z.string(),
  date: z.string(),
  ohm: z.string(),
  /** Standard. */
  uOhm: z.number(),
  beforeOhm: z.number().nullable(),
  afterOhm: z.number().nullable(),
  /** After less before, mK, and its expanded uncertainty (k = 2). */
  changeMk: z.number().nullable(),
  expandedChangeMk: z.number().nullable(),
  changed: z.boolean(),
  note: z.string(),
})
export type MeasuredWtpView = z.output<typeof MeasuredWtpView>
