import { at, first } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { weightedLeastSquares } from '../statistics/least-squares.ts'

/** A resistor's value at one temperature of its enclosure; relative standard uncertainty. */
export interface ResistorAt {
  readonly celsius: number
  readonly ohm: number
  readonly uRelative: number
}

export interface TemperatureCoefficients {
  /** At the reference temperature, ohm; relative standard uncertainty. */
  readonly ohm: number
  readonly uRelative: number
  readonly alphaPerK: number
  readonly uAlphaPerK: number
  /** 0 where two temperatures only were taken. */
  readonly betaPerK2: number
  readonly uBetaPerK2: number
  readonly degreesOfFreedom: number
}

/** Temperatures nearer than this are one. */
const SAME_K = 0.05

/**
 * Temperature coefficients of a reference resistor from its value at several temperatures.
 *
 *   R(t) = R_r [1 + alpha (t - t_r) + beta (t - t_r)^2]
 *
 * by weighted least squares of R/R_r in powers of t - t_r; alpha alone from two temperatures, both from three on. Where the
 * values scatter more than they state, the uncertainties grow by the root of chi-squared over its degrees of freedom.
 * Source: common practice, no source, for the equation; JCGM 100:2008, H.3, for the least squares.
 *
 * Throws ComparisonError 'not-determined' for fewer than two temperatures.
 */
export function temperatureCoefficients(
  values: readonly ResistorAt[],
  referenceC: number,
): TemperatureCoefficients {
  const places = values
    .map(({ celsius }) => celsius)
    .toSorted((a, b) => a - b)
    .filter((celsius, i, all) => i === 0 || celsius - at(all, i - 1) > SAME_K)
  if (places.length < 2) {
    throw new ComparisonError('not-determined', said('too-few-resistor-temperatures', {}), {
      temperatures: places.length,
    })
  }
  const unit = first(values).ohm
  const powers = places.length > 2 ? 3 : 2
  const fit = weightedLeastSquares(
    values.map(({ celsius }) => Array.from({ length: powers }, (_, p) => (celsius - referenceC) ** p)),
    values.map(({ ohm }) => ohm / unit - 1),
    values.map(({ uRelative }) => 1 / (uRelative * uRelative)),
    { columnNames: ['value', 'alpha', 'beta'].slice(0, powers), weightsAre: 'absolute', aboutMean: false },
  )
  const stretch = fit.degreesOfFreedom > 0 ? Math.sqrt(Math.max(1, fit.chiSquared / fit.degreesOfFreedom)) : 1
  const u = (j: number) => (fit.standardUncertainties[j] ?? 0) * stretch
  const [offset, alpha, beta = 0] = fit.coefficients as [number, number, number?]
  return {
    ohm: unit * (1 + offset),
    uRelative: u(0),
    alphaPerK: alpha / (1 + offset),
    uAlphaPerK: u(1),
    betaPerK2: beta / (1 + offset),
    uBetaPerK2: u(2),
    degreesOfFreedom: fit.degreesOfFreedom,
  }
}
