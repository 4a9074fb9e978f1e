/** What the fits of every thermometer model share: weights, the linear solution, residuals and their statistics. */

import { at } from '../base/lists.ts'
import type { Conversion } from '../kinds/conversion.ts'
import { said } from '../messages/said.ts'
import { StatisticsError } from '../statistics/errors.ts'
import type { LeastSquaresFit } from '../statistics/fit-result.ts'
import { columnLeastSquares } from '../statistics/least-squares.ts'
import type { CalibrationPoint, FittedEquation, ThermometerFit } from './fit-model.ts'

/** An equation linear in its unknowns: y = Σ columns × unknowns, one row for each point. */
export interface Equation {
  readonly names: readonly string[]
  readonly columns: readonly Float64Array[]
  readonly y: Float64Array
  /** How far y moves with a kelvin of the reference and with an ohm of the thermometer, row by row. */
  readonly perKelvin: ArrayLike<number>
  readonly perOhm: ArrayLike<number>
}

export interface Weighting {
  readonly weights: Float64Array
  readonly weightsAre: 'absolute' | 'relative'
}

/** Weights of the rows of an equation, from the uncertainties where every point states one. */
export function weightsOf(
  points: readonly CalibrationPoint[],
  perKelvin: ArrayLike<number>,
  perOhm: ArrayLike<number>,
): Weighting {
  const variances = points.map(
    ({ uT = 0, uSignal = 0 }, i) => (at(perKelvin, i) * uT) ** 2 + (at(perOhm, i) * uSignal) ** 2,
  )
  if (variances.every((variance) => variance > 0)) {
    return { weights: Float64Array.from(variances, (variance) => 1 / variance), weightsAre: 'absolute' }
  }
  return { weights: Float64Array.from(points, ({ weight }) => weight ?? 1), weightsAre: 'relative' }
}

export function solveEquation(
  equation: Equation,
  points: readonly CalibrationPoint[],
): { fit: LeastSquaresFit; weightsAre: 'absolute' | 'relative' } {
  const { weights, weightsAre } = weightsOf(points, equation.perKelvin, equation.perOhm)
  const fit = columnLeastSquares(equation.columns, equation.y, weights, {
    columnNames: equation.names,
    weightsAre,
  })
  return { fit, weightsAre }
}

/** J C Jᵀ. */
export function transformedCovariance(
  jacobian: readonly (readonly number[])[],
  covariance: readonly (readonly number[])[],
): number[][] {
  const half = jacobian.map((row) =>
    covariance.map((_, k) => row.reduce((sum, x, j) => sum + x * at(at(covariance, j), k), 0)),
  )
  return half.map((left) => jacobian.map((row) => row.reduce((sum, x, k) => sum + x * at(left, k), 0)))
}

export function requirePoints(points: readonly CalibrationPoint[]): void {
  points.forEach(({ t90C, signal }, i) => {
    if (!Number.isFinite(t90C) || !Number.isFinite(signal)) {
      throw new StatisticsError('not-finite', said('point-not-finite-number', { point: i + 1 }), { point: i })
    }
  })
}

/** A resistance has to be above zero where its logarithm or a ratio of it is taken. */
export function requireResistances(points: readonly CalibrationPoint[]): void {
  requirePoints(points)
  points.forEach(({ signal }, i) => {
    if (signal > 0) return
    throw new StatisticsError('out-of-range', said('resistance-of-point-not-positive', { i: i + 1 }), {
      point: i,
      signal,
    })
  })
}

export interface FittedRelation {
  readonly conversion: Conversion
  readonly names: readonly string[]
  readonly coefficients: readonly number[]
  readonly covariance: readonly (readonly number[])[]
  readonly weightsAre: 'absolute' | 'relative'
  readonly chiSquared: number
  readonly degreesOfFreedom: number
  readonly condition: number
  /** Leverage of each point; 0 for a point that did not take part in the equation. */
  readonly leverages: readonly number[]
  readonly notes: readonly string[]
  readonly equation: Omit<FittedEquation, 'residualSd'>
  signalAt(t90C: number): number
  /** Where the relation bends so much that residuals are not simply divided by its slope. */
  temperature?(signal: number): number
  /** dSignal/dt, ohm/K. */
  slope(t90C: number): number
  /** dSignal/dcoefficient at a temperature, in the order of the names, in ohm. */
  gradient(t90C: number): readonly number[]
}

/** What a fitted relation takes over from the least squares that gave its coefficients. */
export function solutionOf(fit: LeastSquaresFit, weightsAre: 'absolute' | 'relative') {
  return {
    coefficients: fit.coefficients,
    covariance: fit.covariance,
    weightsAre,
    chiSquared: fit.chiSquared,
    degreesOfFreedom: fit.degreesOfFreedom,
    condition: fit.condition,
    leverages: Array.from(fit.leverages),
  }
}

/** Residuals and statistics of a fitted relation over its points. */
export function thermometerFit(
  relation: FittedRelation,
  points: readonly CalibrationPoint[],
): ThermometerFit {
  const { covariance, degreesOfFreedom, leverages } = relation
  const residualsSignal = points.map(({ t90C, signal }) => signal - relation.signalAt(t90C))
  const residualsK = points.map(({ t90C, signal }, i) =>
    relation.temperature === undefined
      ? at(residualsSignal, i) / relation.slope(t90C)
      : relation.temperature(signal) - t90C,
  )
  const mean = points.reduce((sum, { signal }) => sum + signal, 0) / points.length
  const total = points.reduce((sum, { signal }) => sum + (signal - mean) ** 2, 0)
  const counts = points.map(({ weight }) => (weight === 0 ? 0 : 1))
  const squares = (residuals: readonly number[]) =>
    residuals.reduce((sum, residual, i) => sum + at(counts, i) * residual * residual, 0)
  const sdOf = (residuals: readonly number[]) =>
    degreesOfFreedom > 0 ? Math.sqrt(squares(residuals) / degreesOfFreedom) : Number.NaN
  return {
    conversion: relation.conversion,
    names: relation.names,
    coefficients: Object.fromEntries(relation.names.map((name, k) => [name, at(relation.coefficients, k)])),
    covariance,
    standardUncertainties: covariance.map((row, k) => Math.sqrt(at(row, k))),
    residualsK,
    residualsSignal,
    equation: { ...relation.equation, residualSd: sdOf(relation.equation.residuals) },
    leaveOneOutK: residualsK.map((residual, i) =>
      1 - at(leverages, i) > 1e-9 ? residual / (1 - at(leverages, i)) : Number.NaN,
    ),
    residualSdK: sdOf(residualsK),
    residualSdSignal: sdOf(residualsSignal),
    rSquared: total > 0 ? 1 - squares(residualsSignal) / total : Number.NaN,
    degreesOfFreedom,
    chiSquared: relation.chiSquared,
    leverages,
    condition: relation.condition,
    covarianceFrom: relation.weightsAre === 'absolute' ? 'uncertainties' : 'residuals',
    notes: relation.notes,
    temperatureUncertainty: (t90C) => {
      const gradient = relation.gradient(t90C)
      const variance = gradient.reduce(
        (sum, g, k) => sum + g * gradient.reduce((inner, h, l) => inner + h * at(at(covariance, k), l), 0),
        0,
      )
      return Math.sqrt(Math.max(0, variance)) / Math.abs(relation.slope(t90C))
    },
  }
}

/** A covariance as a conversion keeps it, or nothing where it is not known. */
export function covarianceField(
  names: readonly string[],
  matrix: readonly (readonly number[])[],
): { covariance?: { names: string[]; matrix: number[][] } } {
  if (!matrix.every((row) => row.every(Number.isFinite))) return {}
  return { covariance: { names: [...names], matrix: matrix.map((row) => [...row]) } }
}

/** The range of the points, in degC, where it is a range. */
export function rangeField(values: readonly number[]): { range?: [number, number] } {
  const low = Math.min(...values)
  const high = Math.max(...values)
  return low < high ? { range: [low, high] } : {}
}
