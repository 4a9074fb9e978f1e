import type { z } from 'zod'
import { at } from '../base/lists.ts'
import {
  type BridgeRequest,
  CheckRequest,
  type FixedPointsRequest,
  type NetworkRow,
  type NetworkText,
  type PlateauConditions,
  type PlateauRequest,
  type ReducedPlateau,
} from '../contract/check-request.ts'
import { said } from '../messages/said.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { lineAnswerer } from '../statistics/request.ts'
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

/** A network as it is written in a request. */
function networkOf(text: NetworkText): Network {
  if (typeof text === 'string') return { kind: 'one', resistor: text }
  return 'series' in text
    ? { kind: 'series', parts: text.series.map(networkOf) }
    : { kind: 'parallel', parts: text.parallel.map(networkOf) }
}

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
function conditionsOf(cell: z.output<z.ZodObject<typeof PlateauConditions>>) {
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
      said('times-and-resistances-not-paired', { times: times.length, ohm: ohm.length }),
    )
  }
  const plateau = findPlateau(
    ohm.map((value, i) => ({ timeS: at(times, i), ohm: value })),
    { ohmPerKelvin, ...(bandMk !== undefined && { bandMk }), ...(leastS !== undefined && { leastS }) },
  )
  return { plateau, value: reducePlateau(plateau, conditionsOf(request), heatingOf(request), ohmPerKelvin) }
}

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
