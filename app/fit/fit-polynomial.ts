import type { LeastSquaresFit } from '../statistics/fit-result.ts'
import { polynomialFit } from '../statistics/polynomial.ts'
import { polynomial, polynomialSlope } from '../thermometry/polynomial.ts'
import {
  covarianceField,
  rangeField,
  requirePoints,
  solutionOf,
  thermometerFit,
  weightsOf,
} from './fit-linear.ts'
import type { CalibrationPoint, FitModel, ThermometerFit } from './fit-model.ts'

type PolynomialModel = Extract<FitModel, { kind: 'polynomial' }>

/**
 * Fits t90 as a polynomial in the signal.
 *
 *   t90 = Σ c_k xᵏ
 *
 * Symbols  x signal in ohm or mV; t90 in degC; c_k in K per power of the signal
 * Source   common practice, no source
 * Valid    at least degree + 1 different signals; the relation has to rise or fall throughout
 * Throws   StatisticsError 'not-finite' | 'underdetermined' | 'rank-deficient' | 'out-of-range'
 */
export function fitSignalPolynomial(
  model: PolynomialModel,
  points: readonly CalibrationPoint[],
): ThermometerFit {
  requirePoints(points)
  const signals = points.map(({ signal }) => signal)
  const temperatures = points.map(({ t90C }) => t90C)
  const ones = points.map(() => 1)
  const solve = (
    perOhm: ArrayLike<number>,
  ): { fit: LeastSquaresFit; weightsAre: 'absolute' | 'relative' } => {
    const { weights, weightsAre } = weightsOf(points, ones, perOhm)
    const fit = polynomialFit(signals, temperatures, model.degree, {
      weightsAre,
      decimal: true,
      ...(weights && { weights }),
    })
    return { fit, weightsAre }
  }
  const first = solve(new Float64Array(points.length))
  const { fit, weightsAre } = points.some(({ uSignal }) => uSignal)
    ? solve(signals.map((x) => polynomialSlope(first.fit.coefficients, x)))
    : first
  const names = fit.coefficients.map((_, k) => String(k))
  const from = model.signal ?? 'resistance'
  const nearest = (t90C: number) =>
    points.reduce((best, point) => (Math.abs(point.t90C - t90C) < Math.abs(best.t90C - t90C) ? point : best))
      .signal
  // The signal at a temperature: Newton from the nearest point of the calibration.
  const signalAt = (t90C: number) => {
    let x = nearest(t90C)
    for (let i = 0; i < 50; i++) {
      const step = (t90C - polynomial(fit.coefficients, x)) / polynomialSlope(fit.coefficients, x)
      x += step
      if (!(Math.abs(step) > 1e-15 * Math.abs(x))) break
    }
    return x
  }
  return thermometerFit(
    {
      conversion: {
        kind: 'polynomial',
        coefficients: fit.coefficients,
        from,
        to: 'temperature',
        ...covarianceField(names, fit.covariance),
        ...rangeField(signals),
      },
      names,
      ...solutionOf(fit, weightsAre),
      notes: [],
      equation: { of: 't90', unit: 'K', residuals: Array.from(fit.residuals) },
      signalAt,
      slope: (t90C) => 1 / polynomialSlope(fit.coefficients, signalAt(t90C)),
      gradient: (t90C) => {
        const x = signalAt(t90C)
        const share = -1 / polynomialSlope(fit.coefficients, x)
        return fit.coefficients.map((_, k) => share * x ** k)
      },
    },
    points,
  )
}
