import { at } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { ComparisonError } from '../results/uncertainty-error.ts'
import { weightedLeastSquares } from '../statistics/least-squares.ts'
import type { NetworkReading } from './bridge-check.ts'
import { networkValue, resistorsOf } from './network.ts'

export interface BridgeTerms {
  /** Resistors found, in units of the bridge's reference. */
  readonly resistors: Readonly<Record<string, number>>
  /** Error of the bridge as b0 + b2 n^2 + b3 n^3 ..., in ratio; the term in n cannot be told from the resistors. */
  readonly terms: readonly {
    readonly power: number
    readonly value: number
    /** Standard; from the scatter where chi-squared says that the readings scatter more than they state. */
    readonly u: number
    readonly shown: boolean
  }[]
  /** What is left of each reading after resistors and terms, in ratio. */
  readonly residuals: readonly number[]
  readonly degreesOfFreedom: number
  /** Chi-squared over its degrees of freedom, from the readings' own repeatability. */
  readonly reducedChiSquared: number
}

const MOST_PASSES = 20
/** Steps of the resistors below this part of the bridge's reference end the search. */
const SMALL = 1e-14

/** Where the search for the resistors begins: each as it was read alone. Throws ComparisonError 'bad-input'. */
export function resistorsAlone(readings: readonly NetworkReading[]): Record<string, number> {
  const names = [...new Set(readings.flatMap(({ network }) => resistorsOf(network)))]
  return Object.fromEntries(
    names.map((name) => {
      const alone = readings.find(({ network }) => network.kind === 'one' && network.resistor === name)
      if (alone) return [name, alone.ratio]
      throw new ComparisonError('bad-input', said('resistor-not-measured-alone', { name }), { name })
    }),
  )
}

/**
 * Finds powers of the ratio in the error of a bridge from combinations of a few resistors, which need not be known: the
 * networks of m resistors obey more equations than there are resistors.
 *
 *   n_i = f_i(r_1 .. r_m) + b0 + b2 n_i^2 + b3 n_i^3
 *
 * Every network scales with its resistors, so an error in proportion to n cannot be told from another set of resistors:
 * interchange and a known ratio must show it. Least squares by Gauss-Newton on the resistors and the terms together.
 *
 * Throws ComparisonError 'not-determined' where there are not more readings than unknowns; StatisticsError where the
 * networks do not tell the terms apart.
 */
export function bridgeTerms(
  readings: readonly NetworkReading[],
  powers: readonly number[] = [0, 2],
): BridgeTerms {
  const names = [...new Set(readings.flatMap(({ network }) => resistorsOf(network)))]
  const unknowns = names.length + powers.length
  if (readings.length <= unknowns) {
    throw new ComparisonError(
      'not-determined',
      said('too-few-networks', {
        readings: readings.length,
        count: names.length,
        terms: powers.length,
        unknowns: unknowns + 1,
      }),
      { readings: readings.length, unknowns },
    )
  }
  const values = resistorsAlone(readings)
  const weights = readings.map(({ u }) => 1 / (u * u))
  const solve = () => {
    const networks = readings.map(({ network }) => networkValue(network, values))
    const design = readings.map(({ ratio }, i) => [
      ...names.map((name) => at(networks, i).gradient[name] ?? 0),
      ...powers.map((power) => ratio ** power),
    ])
    const fit = weightedLeastSquares(
      design,
      readings.map(({ ratio }, i) => ratio - at(networks, i).value),
      weights,
      {
        columnNames: [...names, ...powers.map((p) => `n^${p}`)],
        weightsAre: 'absolute',
        aboutMean: false,
      },
    )
    names.forEach((name, j) => {
      values[name] = values[name]! + at(fit.coefficients, j)
    })
    return fit
  }
  let fit = solve()
  for (let pass = 1; pass < MOST_PASSES; pass++) {
    if (Math.max(...fit.coefficients.slice(0, names.length).map(Math.abs)) < SMALL) break
    fit = solve()
  }
  const reducedChiSquared = fit.chiSquared / fit.degreesOfFreedom
  const stretch = Math.sqrt(Math.max(1, reducedChiSquared))
  const terms = powers.map((power, k) => {
    const value = at(fit.coefficients, names.length + k)
    const u = at(fit.standardUncertainties, names.length + k) * stretch
    return { power, value, u, shown: Math.abs(value) > 2 * u }
  })
  return {
    resistors: values,
    terms,
    residuals: readings.map(
      ({ network, ratio }) =>
        ratio -
        networkValue(network, values).value -
        terms.reduce((sum, { value, power }) => sum + value * ratio ** power, 0),
    ),
    degreesOfFreedom: fit.degreesOfFreedom,
    reducedChiSquared,
  }
}
