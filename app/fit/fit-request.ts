import { z } from 'zod'
import { at, first, needed } from '../base/lists.ts'
import { counted } from '../base/plural.ts'
import type { Conversion } from '../kinds/conversion.ts'
import { Its90Section } from '../kinds/conversion.ts'
import { said } from '../messages/said.ts'
import { StatisticsError } from '../statistics/errors.ts'
import type { LeastSquaresFit } from '../statistics/fit-result.ts'
import { weightedLeastSquares } from '../statistics/least-squares.ts'
import { polynomialFit } from '../statistics/polynomial.ts'
import { lineAnswerer, NumberOrText } from '../statistics/request.ts'
import { fitThermometer } from './fit.ts'
import type { FitModel, FittedEquation } from './fit-model.ts'

const PolynomialModel = z.object({
  kind: z.literal('polynomial'),
  degree: z.int().min(0).max(30),
  intercept: z.boolean().optional(),
})

/** Several regressors: each x is then a row of values, or one value. */
const LinearModel = z.object({ kind: z.literal('linear'), intercept: z.boolean().optional() })

const Its90Model = z.object({
  kind: z.literal('its90'),
  subrange: Its90Section.optional(),
  rWtp: NumberOrText.optional(),
  uRWtp: z.number().nonnegative().optional(),
  wAluminium: NumberOrText.optional(),
})

const CallendarModel = z.object({
  kind: z.literal('callendar-van-dusen'),
  r0: NumberOrText.optional(),
  c: z.union([z.boolean(), NumberOrText]).optional(),
})

const SteinhartModel = z.object({
  kind: z.literal('steinhart-hart'),
  powers: z.array(z.int().min(0).max(8)).min(1).optional(),
})

const Values = z.array(NumberOrText)

export const FitRequest = z.object({
  id: z.unknown().optional(),
  x: z.array(z.union([NumberOrText, Values], { error: 'not a number, nor a row of numbers' }), {
    error: 'x is an array',
  }),
  y: z.array(NumberOrText, { error: 'y is an array of numbers' }),
  weights: Values.optional(),
  /** 'absolute' says that each weight is 1/u² of its y; 'relative', as it is left out, that only their ratios count. */
  weightsAre: z.enum(['relative', 'absolute']).optional(),
  /** In place of weights: the standard uncertainty of each y, and for a thermometer of each x in kelvin. */
  uY: z.union([NumberOrText, Values]).optional(),
  uX: z.union([NumberOrText, Values]).optional(),
  model: z.discriminatedUnion(
    'kind',
    [PolynomialModel, LinearModel, Its90Model, CallendarModel, SteinhartModel],
    {
      error: 'kind is one of polynomial, linear, its90, callendar-van-dusen, steinhart-hart',
    },
  ),
})
export type FitRequest = z.infer<typeof FitRequest>

type Named = readonly number[] | Readonly<Record<string, number>>

export interface FitAnswer {
  /** Ascending powers for a polynomial; constant first for `linear`; by name for its90 and callendar-van-dusen. */
  readonly coefficients: Named
  readonly coefficientNames: readonly string[]
  readonly standardUncertainties: Named
  /** Rows and columns in the order of `coefficientNames`. */
  readonly covariance: readonly (readonly number[])[]
  readonly residualSd: number
  readonly rSquared: number
  readonly residuals: readonly number[]
  readonly leaveOneOutResiduals: readonly number[]
  readonly degreesOfFreedom: number
  readonly chiSquared: number
  readonly condition: number
  /** For a thermometer: the same residuals in kelvin, what was decided on the way, and the conversion for `convert`. */
  readonly residualsKelvin?: readonly number[]
  readonly residualSdKelvin?: number
  /** The same of the equation that was fitted, in its own unit. */
  readonly equation?: FittedEquation
  readonly notes?: readonly string[]
  readonly conversion?: Conversion
}

/**
 * Answers one request for a fit.
 *
 * Symbols  x, y, weights and the model as FitRequest states them
 * Source   polynomialFit, weightedLeastSquares, fitThermometer
 * Valid    as those functions
 * Throws   StatisticsError or ThermometryError, in words, where the points do not determine the coefficients
 */
export function fitSeries(request: FitRequest): FitAnswer {
  const { x, y, model } = request
  if (x.length !== y.length) {
    throw new StatisticsError('length-mismatch', said('values-not-paired', { x: x.length, y: y.length }), {
      x: x.length,
      y: y.length,
    })
  }
  switch (model.kind) {
    case 'polynomial': {
      const intercept = model.intercept ?? true
      const fit = polynomialFit(plain(x, model.kind), y, model.degree, {
        intercept,
        decimal: true,
        ...weightsOf(request),
      })
      return plainAnswer(
        fit,
        fit.coefficients.map((_, k) => powerName(k + (intercept ? 0 : 1))),
      )
    }
    case 'linear': {
      const intercept = model.intercept ?? true
      const rows = x.map((row) => [...(intercept ? [1] : []), ...(Array.isArray(row) ? row : [row])])
      const width = (rows[0]?.length ?? 0) - (intercept ? 1 : 0)
      const names = [
        ...(intercept ? ['constant'] : []),
        ...Array.from({ length: width }, (_, k) => `x${k + 1}`),
      ]
      const { weights, weightsAre = 'relative' } = weightsOf(request)
      const fit = weightedLeastSquares(rows, y, weights, {
        columnNames: names,
        decimal: true,
        weightsAre,
        aboutMean: intercept,
      })
      return plainAnswer(fit, names)
    }
    default:
      return thermometerAnswer(request, definedOnly(model) as FitModel)
  }
}

function plain(x: FitRequest['x'], kind: string): number[] {
  return x.map((value, i) => {
    if (!Array.isArray(value)) return value
    if (value.length === 1) return first(value)
    throw new StatisticsError(
      'length-mismatch',
      said('row-where-one-value', { values: value.length, i: i + 1, kind }),
      { point: i },
    )
  })
}

function powerName(k: number): string {
  return k === 0 ? 'constant' : k === 1 ? 'x' : `x^${k}`
}

function listOf(value: number | readonly number[] | undefined, n: number): readonly number[] | undefined {
  return typeof value === 'number' ? new Array<number>(n).fill(value) : value
}

function requireLength(what: string, list: readonly number[] | undefined, n: number): void {
  if (list === undefined || list.length === n) return
  throw new StatisticsError(
    'length-mismatch',
    said('list-not-one-each', { found: counted(list.length, 'value'), what, n: counted(n, 'point') }),
    {
      what,
      found: list.length,
      expected: n,
    },
  )
}

function weightsOf(request: FitRequest): { weights?: number[]; weightsAre?: 'relative' | 'absolute' } {
  const n = request.y.length
  const uY = listOf(request.uY, n)
  requireLength('weights', request.weights, n)
  requireLength('uY', uY, n)
  if (uY !== undefined && request.weights !== undefined) {
    throw new StatisticsError('out-of-range', said('weights-and-uncertainties', {}))
  }
  if (uY !== undefined) {
    const bad = uY.findIndex((u) => !(u > 0))
    if (bad >= 0)
      throw new StatisticsError('out-of-range', said('uy-not-positive', { bad: bad + 1 }), { point: bad })
    return { weights: uY.map((u) => 1 / (u * u)), weightsAre: request.weightsAre ?? 'absolute' }
  }
  return {
    ...(request.weights && { weights: request.weights }),
    ...(request.weightsAre && { weightsAre: request.weightsAre }),
  }
}

function plainAnswer(fit: LeastSquaresFit, names: readonly string[]): FitAnswer {
  return {
    coefficients: fit.coefficients,
    coefficientNames: names,
    standardUncertainties: fit.standardUncertainties,
    covariance: fit.covariance,
    residualSd: fit.residualSd,
    rSquared: fit.rSquared,
    residuals: Array.from(fit.residuals),
    leaveOneOutResiduals: Array.from(fit.leaveOneOutResiduals),
    degreesOfFreedom: fit.degreesOfFreedom,
    chiSquared: fit.chiSquared,
    condition: fit.condition,
  }
}

function thermometerAnswer(request: FitRequest, model: FitModel): FitAnswer {
  const { y, weights } = request
  const n = y.length
  const uT = listOf(request.uX, n)
  const uSignal = listOf(request.uY, n)
  requireLength('weights', weights, n)
  requireLength('uX', uT, n)
  requireLength('uY', uSignal, n)
  const points = plain(request.x, model.kind).map((t90C, i) => ({
    t90C,
    signal: at(y, i),
    ...(uT && { uT: at(uT, i) }),
    ...(uSignal && { uSignal: at(uSignal, i) }),
    ...(weights && { weight: at(weights, i) }),
  }))
  const fit = fitThermometer({ model, points })
  const byName = (values: readonly number[]): Named =>
    model.kind === 'steinhart-hart'
      ? values
      : Object.fromEntries(fit.names.map((name, k) => [name, at(values, k)]))
  return {
    coefficients: byName(fit.names.map((name) => needed(fit.coefficients[name], name))),
    coefficientNames: fit.names,
    standardUncertainties: byName(fit.standardUncertainties),
    covariance: fit.covariance,
    residualSd: fit.residualSdSignal,
    rSquared: fit.rSquared,
    residuals: fit.residualsSignal,
    leaveOneOutResiduals: fit.residualsSignal.map((residual, i) =>
      Number.isFinite(at(fit.leaveOneOutK, i)) ? residual / (1 - at(fit.leverages, i)) : Number.NaN,
    ),
    degreesOfFreedom: fit.degreesOfFreedom,
    chiSquared: fit.chiSquared,
    condition: fit.condition,
    residualsKelvin: fit.residualsK,
    residualSdKelvin: fit.residualSdK,
    equation: fit.equation,
    notes: fit.notes,
    conversion: fit.conversion,
  }
}

function definedOnly(options: object): object {
  return Object.fromEntries(Object.entries(options).filter(([, value]) => value !== undefined))
}

/**
 * Answers one line of `fit`.
 *
 * Symbols  line, its number
 * Source   lineAnswerer
 * Valid    any text
 * Throws   nothing
 */
export const answerFitLine = lineAnswerer(FitRequest, fitSeries)
