import type { Prepared } from '../thermometry/convert.ts'

/** Columns of the lower triangle L with L L^T = C, for a covariance that rounding may have left a hair short of positive. */
export function covarianceColumns(matrix: readonly (readonly number[])[]): number[][] {
  const n = matrix.length
  const lower = Array.from({ length: n }, () => new Array<number>(n).fill(0))
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i]![j]!
      for (let k = 0; k < j; k++) sum -= lower[i]![k]! * lower[j]![k]!
      if (i === j) lower[i]![i] = sum > 0 ? Math.sqrt(sum) : 0
      else lower[i]![j] = lower[j]![j] === 0 ? 0 : sum / lower[j]![j]!
    }
  }
  return Array.from({ length: n }, (_, k) => lower.map((row) => row[k]!))
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
      column.reduce((sum, l, j) => sum - ((gradient[covariance.names[j]!] ?? 0) * l * 1e3) / slope, 0),
    )
  }
}
