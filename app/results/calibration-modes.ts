import { columnOf, zip } from '../base/lists.ts'
import { lowerTriangle, type Matrix } from '../statistics/cholesky.ts'
import type { Prepared } from '../thermometry/convert.ts'

/** Columns of the lower triangle L with L L^T = C, for a covariance that rounding may have left a hair short of positive. */
export function covarianceColumns(matrix: Matrix): number[][] {
  const lower = lowerTriangle(matrix)
  return lower.map((_, k) => columnOf(lower, k))
}

/**
 * What one standard uncertainty of each independent combination of a certificate's coefficients does to the temperature
 * it gives, mK:
 *
 *   dt_k = -sum_j (ds/dx_j) L_jk / (ds/dt),  C = L L^T
 *
 * Symbols: s the sensor's signal, x_j its coefficients, C their covariance. The combinations are independent, so the
 * root of the sum of their squares is the uncertainty of the coefficients at that temperature. Empty where the
 * certificate states no covariance.
 */
export function calibrationModes({ sensor }: Prepared): (celsius: number) => readonly number[] {
  const { covariance } = sensor
  if (!covariance) return () => []
  const columns = covarianceColumns(covariance.matrix)
  return (celsius) => {
    const signal = sensor.signalAt(celsius)
    const gradient = sensor.gradient(celsius, signal)
    const slope = sensor.slope(celsius, signal)
    return columns.map((column) =>
      zip(column, covariance.names).reduce(
        (sum, [l, name]) => sum - ((gradient[name] ?? 0) * l * 1e3) / slope,
        0,
      ),
    )
  }
}
