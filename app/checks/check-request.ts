import { z } from 'zod'
import { Resistor } from '../records/register.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { lineAnswerer, NumberOrText } from '../statistics/request.ts'
import { FIXED_POINTS, type FixedPointName } from '../thermometry/fixed-points.ts'
import { checkByInterchange, checkByKnownRatios, linearityOfInterchange } from './bridge-check.ts'
import { type BridgeEvidence, bridgeCurve } from './bridge-curve.ts'
import { bridgeTerms } from './bridge-terms.ts'
import { compareCells } from './cell-comparison.ts'
import { type FixedPointValue, reducePlateau } from './fixed-point.ts'
import { calibrateByFixedPoints, type FixedPointCalibration } from './fixed-point-calibration.ts'
import { findPlateau } from './fixed-point-plateau.ts'
import type { Network } from './network.ts'
import { compareResistor } from './resistor-check.ts'
import { compareResistors } from './resistor-set.ts'
import { temperatureCoefficients } from './resistor-temperature.ts'

const positive = NumberOrText.refine((value) => value > 0, 'must be greater than zero')
const notNegative = NumberOrText.refine((value) => value >= 0, 'must not be below zero')
export const FixedPointChoice = z
  .string()
  .refine((name): name is FixedPointName => FIXED_POINTS.some((p) => p.name === name), {
    error: `not a fixed point; use one of ${FIXED_POINTS.map((p) => p.name).join(', ')}`,
  })

const Cell = {
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

const PlateauRequest = z.object({
  check: z.literal('plateau'),
  times: z.array(NumberOrText),
  ohm: z.array(positive),
  bandMk: positive.optional(),
  leastS: positive.optional(),
  ...Cell,
})

/** A plateau as a set takes it: its mean, and all that corrects it. */
export const ReducedPlateau = z.object({
  ...Cell,
  ohm: positive,
  uTypeAMk: notNegative,
  degreesOfFreedom: positive.default(1e6),
  rangeMk: notNegative.default(0),
  /** Register id of the cell: plateaus of one cell share its errors. */
  cell: z.string().min(1).optional(),
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
type NetworkText = string | { series: NetworkText[] } | { parallel: NetworkText[] }
const NetworkText: z.ZodType<NetworkText> = z.lazy(() =>
  z.union([
    z.string().min(1),
    z.strictObject({ series: z.array(NetworkText).min(2) }),
    z.strictObject({ parallel: z.array(NetworkText).min(2) }),
  ]),
)

/** A network as it is written in a request. */
function networkOf(text: NetworkText): Network {
  if (typeof text === 'string') return { kind: 'one', resistor: text }
  return 'series' in text
    ? { kind: 'series', parts: text.series.map(networkOf) }
    : { kind: 'parallel', parts: text.parallel.map(networkOf) }
}

const NetworkRow = z.object({ network: NetworkText, ratio: positive, u: positive })
const KnownPair = z.object({
  name: z.string(),
  ratio: positive,
  u: positive,
  known: positive,
  uKnown: notNegative,
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

/** What a request says of a bridge, by whichever method. */
export function evidenceOf(request: BridgeRequest): BridgeEvidence {
  const none: BridgeEvidence = { interchanges: [], networks: [], known: [] }
  const wired = (rows: readonly z.output<typeof NetworkRow>[]) =>
    rows.map((row) => ({ ...row, network: networkOf(row.network) }))
  switch (request.check) {
    case 'interchange':
      return { ...none, interchanges: request.pairs }
    case 'networks':
      return { ...none, networks: wired(request.readings) }
    case 'ratios':
      return { ...none, known: request.pairs }
    case 'bridge':
      return { interchanges: request.interchanges, networks: wired(request.networks), known: request.known }
  }
}

/** The fields that the file does not state are left out, not set to undefined. */
function conditionsOf(cell: z.output<z.ZodObject<typeof Cell>>) {
  const { fixedPoint, depthM, uDepthM, offsetMk, uCellMk, uBridgeMk, uResistorMk, uResistorTemperatureMk } =
    cell
  const { pressurePa, uPressurePa, uHeatFluxMk } = cell
  return {
    fixedPoint,
    depthM,
    uDepthM,
    offsetMk,
    uCellMk,
    uBridgeMk,
    uResistorMk,
    uResistorTemperatureMk,
    ...(pressurePa !== undefined && { pressurePa }),
    ...(uPressurePa !== undefined && { uPressurePa }),
    ...(uHeatFluxMk !== undefined && { uHeatFluxMk }),
  }
}

const heatingOf = (cell: { selfHeatingMk: number; uSelfHeatingMk: number }) => ({
  mk: cell.selfHeatingMk,
  uMk: cell.uSelfHeatingMk,
})

function answerPlateau(request: z.output<typeof PlateauRequest>): object {
  const { times, ohm, bandMk, leastS, ohmPerKelvin } = request
  if (times.length !== ohm.length) {
    throw new ComparisonError(
      'bad-input',
      `There are ${times.length} times for ${ohm.length} resistances; give one for each.`,
    )
  }
  const plateau = findPlateau(
    ohm.map((value, i) => ({ timeS: times[i]!, ohm: value })),
    { ohmPerKelvin, ...(bandMk !== undefined && { bandMk }), ...(leastS !== undefined && { leastS }) },
  )
  return { plateau, value: reducePlateau(plateau, conditionsOf(request), heatingOf(request), ohmPerKelvin) }
}

export type FixedPointsRequest = z.output<typeof FixedPointsRequest>

/** A plateau of a set, reduced: resistance at zero current, corrections and components. */
export function valueOfPlateau(plateau: ReducedPlateau): FixedPointValue {
  const value = reducePlateau(plateau, conditionsOf(plateau), heatingOf(plateau), plateau.ohmPerKelvin)
  const utcMs = plateau.utc === undefined ? undefined : Date.parse(plateau.utc)
  return { ...value, cell: plateau.cell, utcMs }
}

/** The calibration that a set of reduced plateaus determines. Throws what calibrateByFixedPoints throws. */
export function calibrationOfRequest(request: FixedPointsRequest): FixedPointCalibration {
  const values = request.plateaus.map(valueOfPlateau)
  return calibrateByFixedPoints(values, request.coverage, request.subrange)
}

function answerFixedPoints(request: FixedPointsRequest): object {
  const found = calibrationOfRequest(request)
  return {
    rWtp: found.rWtp,
    coefficients: found.coefficients,
    points: found.points,
    conversion: found.fit.conversion,
    notes: found.fit.notes,
    covariance: found.covariance,
    wtpSteps: found.wtpSteps,
    consistency: found.consistency,
    table: request.tableC.map((celsius) => ({ celsius, uK: found.uncertaintyK(celsius) })),
  }
}

/** Answers a request of any kind. Throws ComparisonError and what the checks themselves throw. */
export function answerCheck(request: CheckRequest): object {
  switch (request.check) {
    case 'plateau':
      return answerPlateau(request)
    case 'fixed-points':
      return answerFixedPoints(request)
    case 'interchange':
      return {
        ...bridgeCurve(evidenceOf(request)),
        pairs: checkByInterchange(request.pairs),
        linearityRatio: linearityOfInterchange(request.pairs),
      }
    case 'networks': {
      const evidence = evidenceOf(request)
      const { resistors: _resistors, ...terms } = bridgeTerms(evidence.networks, request.powers)
      return { ...terms, ...bridgeCurve(evidence) }
    }
    case 'ratios':
      return { ...bridgeCurve(evidenceOf(request)), pairs: checkByKnownRatios(request.pairs) }
    case 'bridge':
      return bridgeCurve(evidenceOf(request))
    case 'cells':
      return compareCells(
        valueOfPlateau(request.own),
        valueOfPlateau(request.other),
        request.own.ohmPerKelvin,
      )
    case 'resistors':
      return compareResistors(request.ratios, request.known)
    case 'resistor-temperature':
      return temperatureCoefficients(request.values, request.referenceC)
    case 'resistor':
      return compareResistor(request)
  }
}

export const answerCheckLine = lineAnswerer(CheckRequest, answerCheck)
