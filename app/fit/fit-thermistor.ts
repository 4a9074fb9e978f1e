import { at, needed } from '../base/lists.ts'
import { said } from '../messages/said.ts'
import { StatisticsError } from '../statistics/errors.ts'
import type { LeastSquaresFit } from '../statistics/fit-result.ts'
import { ZERO_C_K } from '../thermometry/its90-reference.ts'
import { polynomialSlope } from '../thermometry/polynomial.ts'
import { ascendingCoefficients, steinhartHartSensor } from '../thermometry/thermistor.ts'
import {
  covarianceField,
  rangeField,
  requireResistances,
  solutionOf,
  solveEquation,
  thermometerFit,
} from './fit-linear.ts'
import type { CalibrationPoint, FitModel, ThermometerFit } from './fit-model.ts'

type SteinhartHartModel = Extract<FitModel, { kind: 'steinhart-hart' }>

/**
 * Fits 1/T = Σ c_k (ln R)^k, linear in the coefficients.
 *
 * Symbols  T in kelvin, R in ohm, c_k in 1/K
 * Source   J. S. Steinhart and S. R. Hart, Deep-Sea Research 15, 497-503 (1968)
 * Valid    R > 0, T > 0
 * Throws   StatisticsError 'out-of-range' | 'not-finite' | 'underdetermined' | 'rank-deficient'
 */
export function fitSteinhartHart(
  model: SteinhartHartModel,
  points: readonly CalibrationPoint[],
): ThermometerFit {
  requireResistances(points)
  const powers = model.powers ?? [0, 1, 3]
  const cold = points.findIndex(({ t90C }) => t90C <= -ZERO_C_K)
  if (cold >= 0) {
    throw new StatisticsError('out-of-range', said('point-below-absolute-zero', { cold: cold + 1 }), {
      point: cold,
    })
  }
  const logs = points.map(({ signal }) => Math.log(signal))
  const kelvins = points.map(({ t90C }) => t90C + ZERO_C_K)
  const names = powers.map(String)
  const equation = (perOhm: ArrayLike<number>) => ({
    names: powers.map((power) => (power === 0 ? 'constant' : power === 1 ? 'ln R' : `(ln R)^${power}`)),
    columns: powers.map((power) => Float64Array.from(logs, (log) => log ** power)),
    y: Float64Array.from(kelvins, (kelvin) => 1 / kelvin),
    perKelvin: kelvins.map((kelvin) => 1 / (kelvin * kelvin)),
    perOhm,
  })
  const first = solveEquation(equation(new Float64Array(points.length)), points)
  const ascending = (fit: LeastSquaresFit) => ascendingCoefficients(fit.coefficients, powers)
  // The weight of a resistance depends on the slope of the relation: taken from a first fit.
  const perOhm = points.map(({ signal }, i) => polynomialSlope(ascending(first.fit), at(logs, i)) / signal)
  const { fit, weightsAre } = points.some(({ uSignal }) => uSignal)
    ? solveEquation(equation(perOhm), points)
    : first
  const conversion = {
    kind: 'steinhart-hart' as const,
    coefficients: fit.coefficients,
    powers: [...powers],
    ...covarianceField(names, fit.covariance),
    ...rangeField(points.map(({ t90C }) => t90C)),
  }
  const sensor = steinhartHartSensor(conversion)
  return thermometerFit(
    {
      conversion,
      names,
      ...solutionOf(fit, weightsAre),
      notes: [],
      equation: { of: '1/T', unit: '1/K', residuals: Array.from(fit.residuals) },
      signalAt: sensor.signalAt,
      temperature: sensor.temperature,
      slope: (t90C) => sensor.slope(t90C, sensor.signalAt(t90C)),
      gradient: (t90C) => {
        const gradient = sensor.gradient(t90C, sensor.signalAt(t90C))
        return names.map((name) => needed(gradient[name], name))
      },
    },
    points,
  )
}
