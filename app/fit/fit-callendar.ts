import { at, needed } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { ThermometryError } from '../thermometry/errors.ts'
import { callendarVanDusenRatio, callendarVanDusenSlope } from '../thermometry/iec60751.ts'
import {
  covarianceField,
  rangeField,
  requireResistances,
  solveEquation,
  thermometerFit,
  transformedCovariance,
} from './fit-linear.ts'
import type { CalibrationPoint, FitModel, ThermometerFit } from './fit-model.ts'

type CallendarModel = Extract<FitModel, { kind: 'callendar-van-dusen' }>

/** The term that acts below 0 degC only. */
const below = (t: number) => (t < 0 ? (t - 100) * t * t * t : 0)

/**
 * Fits R = R0 [1 + A t + B t² + C (t − 100) t³], the last term below 0 degC only.
 *
 * Linear in R0, R0 A, R0 B and R0 C; A, B, C and the covariance of all four follow from those. Where C is
 * not said to be fitted or held, it is fitted if a point lies below 0 degC and there are at least four
 * temperatures, and 0 otherwise.
 *
 * Symbols  R in ohm, t in degC, A in 1/K, B in 1/K², C in 1/K⁴
 * Source   IEC 60751:2008, 4.2 (form of the relation; number of the clause from memory)
 * Valid    as many different temperatures as coefficients
 * Throws   StatisticsError 'not-finite' | 'out-of-range' | 'underdetermined' | 'rank-deficient'; ThermometryError
 *          'not-determined' where R(0 degC) comes out at or below 0
 */
export function fitCallendarVanDusen(
  model: CallendarModel,
  points: readonly CalibrationPoint[],
): ThermometerFit {
  requireResistances(points)
  const notes: string[] = []
  const temperatures = points.map(({ t90C }) => t90C)
  const enough = new Set(temperatures).size >= (model.r0 === undefined ? 4 : 3)
  const fitC = model.c === true || (model.c === undefined && enough && temperatures.some((t) => t < 0))
  const heldC = typeof model.c === 'number' ? model.c : 0
  if (model.c === undefined) {
    notes.push(
      fitC
        ? 'C was fitted, since points lie below 0 degC.'
        : temperatures.some((t) => t < 0)
          ? 'C was held at 0: too few points to fit it.'
          : 'C was held at 0: no point lies below 0 degC, where it acts.',
    )
  }
  const r0Held = model.r0
  const scale = r0Held ?? 1
  const column = (f: (t: number) => number) => Float64Array.from(temperatures, f)
  const base = (t: number) => 1 + heldC * below(t)
  const names = [...(r0Held === undefined ? ['r0'] : []), 'a', 'b', ...(fitC ? ['c'] : [])]
  const columns = [
    ...(r0Held === undefined ? [column(base)] : []),
    column((t) => scale * t),
    column((t) => scale * t * t),
    ...(fitC ? [column((t) => scale * below(t))] : []),
  ]
  const y = Float64Array.from(points, ({ t90C, signal }) =>
    r0Held === undefined ? signal : signal - r0Held * base(t90C),
  )
  const ones = points.map(() => 1)
  const solve = (perKelvin: ArrayLike<number>) =>
    solveEquation({ names, columns, y, perKelvin, perOhm: ones }, points)
  const relationOf = (unknowns: readonly number[]) => {
    const r0 = r0Held ?? at(unknowns, 0)
    const share = r0Held === undefined ? r0 : 1
    const scaled = (r0Held === undefined ? unknowns.slice(1) : unknowns).map((unknown) => unknown / share)
    return { r0, a: at(scaled, 0), b: at(scaled, 1), c: fitC ? at(scaled, 2) : heldC }
  }
  // How far R moves with a kelvin of the reference: the slope from a first fit.
  const first = solve(points.map(() => 0))
  const rough = relationOf(first.fit.coefficients)
  const { fit, weightsAre } = points.some(({ uT }) => uT)
    ? solve(temperatures.map((t) => rough.r0 * callendarVanDusenSlope(rough, t)))
    : first
  const relation = relationOf(fit.coefficients)
  const { r0 } = relation
  if (!(r0 > 0)) {
    throw new ThermometryError('not-determined', said('r0-impossible', { r0 }), {
      r0,
    })
  }
  const jacobian = names.map((_, row) =>
    names.map((__, col) => {
      if (r0Held !== undefined) return row === col ? 1 : 0
      if (row === 0) return col === 0 ? 1 : 0
      if (col === 0) return -at(fit.coefficients, row) / (r0 * r0)
      return row === col ? 1 / r0 : 0
    }),
  )
  const covariance = transformedCovariance(jacobian, fit.covariance)
  const uR0 = r0Held === undefined ? Math.sqrt(at(at(covariance, 0), 0)) : undefined
  const coefficients = names.map((name) => relation[name as keyof typeof relation])
  return thermometerFit(
    {
      conversion: {
        kind: 'callendar-van-dusen',
        ...relation,
        ...(uR0 !== undefined && Number.isFinite(uR0) && { uR0 }),
        ...covarianceField(names, covariance),
        ...rangeField(temperatures),
      },
      names,
      coefficients,
      covariance,
      weightsAre,
      chiSquared: fit.chiSquared,
      degreesOfFreedom: fit.degreesOfFreedom,
      condition: fit.condition,
      leverages: Array.from(fit.leverages),
      notes,
      equation: { of: 'R', unit: 'ohm', residuals: Array.from(fit.residuals) },
      signalAt: (t) => r0 * callendarVanDusenRatio(relation, t),
      slope: (t) => r0 * callendarVanDusenSlope(relation, t),
      gradient: (t) => {
        const by: Readonly<Record<string, number>> = {
          r0: callendarVanDusenRatio(relation, t),
          a: r0 * t,
          b: r0 * t * t,
          c: r0 * below(t),
        }
        return names.map((name) => needed(by[name], name))
      },
    },
    points,
  )
}
