import { z } from 'zod'
import { Resistor } from '../records/register.ts'
import { NumberOrText } from '../statistics/request.ts'
import { FIXED_POINTS, type FixedPointName } from '../thermometry/fixed-points.ts'

const positive = NumberOrText.refine((value) => value > 0, 'must be greater than zero')
const notNegative = NumberOrText.refine((value) => value >= 0, 'must not be below zero')
export const FixedPointChoice = z
  .string()
  .refine((name): name is FixedPointName => FIXED_POINTS.some((p) => p.name === name), {
    error: `not a fixed point; use one of ${FIXED_POINTS.map((p) => p.name).join(', ')}`,
  })

/** Where and by what a plateau was taken. */
export const PlateauConditions = {
  fixedPoint: FixedPointChoice,
  depthM: notNegative,
  uDepthM: notNegative.default(0.005),
  pressurePa: positive.optional(),
  uPressurePa: notNegative.optional(),
  offsetMk: NumberOrText.default(0),
  uCellMk: notNegative,
  uBridgeMk: notNegative.default(0),
  /** Of the reference resistor's value, common to all cells, and of its temperature. */
  uResistorMk: notNegative.default(0),
  uResistorTemperatureMk: notNegative.default(0),
  uHeatFluxMk: notNegative.optional(),
  selfHeatingMk: notNegative.default(0),
  uSelfHeatingMk: notNegative.default(0),
  ohmPerKelvin: positive,
}

export const PlateauRequest = z.object({
  check: z.literal('plateau'),
  times: z.array(NumberOrText),
  ohm: z.array(positive),
  bandMk: positive.optional(),
  leastS: positive.optional(),
  ...PlateauConditions,
})

/** A plateau as a set takes it: its mean, and all that corrects it. */
export const ReducedPlateau = z.object({
  ...PlateauConditions,
  ohm: positive,
  uTypeAMk: notNegative,
  degreesOfFreedom: positive.default(1e6),
  rangeMk: notNegative.default(0),
  /** Register id of the cell: plateaus of one cell share its errors. */
  cell: z.string().min(1).optional(),
  /** Register ids of the reference resistor and of the bridge it was measured with: links of the certificate's chain. */
  resistor: z.string().min(1).optional(),
  bridge: z.string().min(1).optional(),
  /** When it was taken, ISO 8601: with it R(0.01 degC) is followed from one water plateau to the next. */
  utc: z.iso.datetime().optional(),
})
export type ReducedPlateau = z.output<typeof ReducedPlateau>

/** The day it is due again; left out: after the interval of the entry before. */
const NextTime = { due: z.iso.date().optional() }

export const FixedPointsRequest = z.object({
  check: z.literal('fixed-points'),
  plateaus: z.array(ReducedPlateau).min(2),
  subrange: z.string().optional(),
  coverage: z.number().gt(0).lt(1).default(0.9545),
  tableC: z.array(NumberOrText).default([]),
  /** Register id of the thermometer whose calibration this becomes, and what the entry says. */
  thermometer: z.string().min(1).optional(),
  date: z.iso.date().optional(),
  ...NextTime,
  certificate: z.string().default('own fixed points'),
  laboratory: z.string().default(''),
  session: z.string().optional(),
  note: z.string().optional(),
})

export type FixedPointsRequest = z.output<typeof FixedPointsRequest>

/** What the register keeps beside the numbers of a bridge's check. */
const OfBridge = {
  /** Register id of the bridge. */
  instrument: z.string().min(1).optional(),
  date: z.iso.date().optional(),
  ...NextTime,
  session: z.string().optional(),
  note: z.string().optional(),
}

const InterchangePair = z.object({
  name: z.string(),
  ratio: positive,
  u: positive,
  reciprocal: positive,
  uReciprocal: positive,
})

const InterchangeRequest = z.object({
  check: z.literal('interchange'),
  ...OfBridge,
  pairs: z.array(InterchangePair).min(1),
})

/** "a", {"series": [...]}, {"parallel": [...]}. */
export type NetworkText = string | { series: NetworkText[] } | { parallel: NetworkText[] }
export const NetworkText: z.ZodType<NetworkText> = z.lazy(() =>
  z.union([
    z.string().min(1),
    z.strictObject({ series: z.array(NetworkText).min(2) }),
    z.strictObject({ parallel: z.array(NetworkText).min(2) }),
  ]),
)

export const NetworkRow = z.object({ network: NetworkText, ratio: positive, u: positive })
/** A known ratio of 0 is a zero reading, as a four-terminal zero gives it: what is shown may lie on either side of it. */
const KnownPair = z
  .object({ name: z.string(), ratio: NumberOrText, u: positive, known: notNegative, uKnown: notNegative })
  .refine(({ ratio, known }) => known === 0 || ratio > 0, {
    path: ['ratio'],
    message: 'must be greater than zero unless the known ratio is 0',
  })

const NetworksRequest = z.object({
  check: z.literal('networks'),
  ...OfBridge,
  readings: z.array(NetworkRow).min(1),
  powers: z.array(z.int().min(0).max(5)).default([0, 2]),
})

const RatiosRequest = z.object({
  check: z.literal('ratios'),
  ...OfBridge,
  pairs: z.array(KnownPair).min(1),
})

/** Interchange, combinations and known ratios in one picture. */
const WholeBridgeRequest = z.object({
  check: z.literal('bridge'),
  ...OfBridge,
  interchanges: z.array(InterchangePair).default([]),
  networks: z.array(NetworkRow).default([]),
  known: z.array(KnownPair).default([]),
  /** Whether ratios are corrected by the curve from that day on. */
  asCorrection: z.boolean().default(false),
})

const ResistorRequest = z.object({
  check: z.literal('resistor'),
  date: z.iso.date(),
  ...NextTime,
  ratio: positive,
  uRatio: notNegative,
  better: Resistor,
  resistor: Resistor,
  certificate: z.string().default('own comparison'),
  laboratory: z.string().default(''),
  /** Whether the register takes the result as a calibration too. */
  asCalibration: z.boolean().default(false),
  session: z.string().optional(),
  note: z.string().optional(),
})

/** Several resistors compared with one another at once. */
const ResistorsRequest = z.object({
  check: z.literal('resistors'),
  ratios: z
    .array(z.object({ over: z.string().min(1), under: z.string().min(1), ratio: positive, u: positive }))
    .min(1),
  known: z.array(z.object({ resistor: z.string().min(1), ohm: positive, uRelative: positive })).default([]),
})

/** A resistor at several temperatures of its enclosure. */
const ResistorTemperatureRequest = z.object({
  check: z.literal('resistor-temperature'),
  referenceC: NumberOrText,
  values: z.array(z.object({ celsius: NumberOrText, ohm: positive, uRelative: positive })).min(1),
})

/** Two cells of one fixed point, by one thermometer in both. */
const CellsRequest = z.object({
  check: z.literal('cells'),
  /** Register ids. */
  cell: z.string().min(1),
  against: z.string().min(1),
  own: ReducedPlateau,
  other: ReducedPlateau,
  date: z.iso.date().optional(),
  note: z.string().optional(),
})

export const CheckRequest = z.discriminatedUnion('check', [
  PlateauRequest,
  FixedPointsRequest,
  InterchangeRequest,
  NetworksRequest,
  RatiosRequest,
  WholeBridgeRequest,
  CellsRequest,
  ResistorsRequest,
  ResistorTemperatureRequest,
  ResistorRequest,
])
export type CheckRequest = z.output<typeof CheckRequest>
export type BridgeRequest = Extract<CheckRequest, { check: 'interchange' | 'networks' | 'ratios' | 'bridge' }>
