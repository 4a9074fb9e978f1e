/**
 * The lab's own short reading of the platinum scales. The station has another; two independent readings cannot
 * cancel one mistake.
 */

/** Reference-function constants of ITS-90, table 4: ln Wr below the triple point of water, Wr from 0 degC up. */
const LOW = [
  -2.13534729, 3.1832472, -1.80143597, 0.71727204, 0.50344027, -0.61899395, -0.05332322, 0.28021362,
  0.10715224, -0.29302865, 0.04459872, 0.11868632, -0.05248134,
]
const HIGH = [
  2.78157254, 1.64650916, -0.1371439, -0.00649767, -0.00234444, 0.00511868, 0.00187982, -0.00204472,
  -0.00046122, 0.00045724,
]

function polynomial(coefficients: readonly number[], x: number): number {
  let sum = 0
  for (let i = coefficients.length - 1; i >= 0; i -= 1) sum = sum * x + coefficients[i]!
  return sum
}

/** Wr of a temperature, ITS-90 equations 9a and 10a; the low function below 273.16 K. */
export function referenceRatio(celsius: number): number {
  const kelvin = celsius + 273.15
  if (kelvin < 273.16) return Math.exp(polynomial(LOW, (Math.log(kelvin / 273.16) + 1.5) / 1.5))
  return polynomial(HIGH, (kelvin - 754.15) / 481)
}

/** dWr/dT per kelvin, by a symmetric difference within one branch. */
export function referenceSlope(celsius: number): number {
  const at = Math.abs(celsius - 0.01) < 0.02 ? 0.03 : celsius
  const h = 0.005
  return (referenceRatio(at + h) - referenceRatio(at - h)) / (2 * h)
}

export interface Its90Deviation {
  rWtp: number
  a: number
  b: number
}

/** R of a standard thermometer: W - Wr = a (W - 1) + b (W - 1)^2, solved for W. Good to 0 to 419 degC and a little below 0. */
export function its90Resistance({ rWtp, a, b }: Its90Deviation, celsius: number): number {
  const wr = referenceRatio(celsius)
  let w = wr
  for (let i = 0; i < 6; i += 1) w = wr + a * (w - 1) + b * (w - 1) * (w - 1)
  return rWtp * w
}

/** W of a thermometer with these deviation coefficients. */
export function its90W(deviation: Its90Deviation, celsius: number): number {
  return its90Resistance({ ...deviation, rWtp: 1 }, celsius)
}

export interface CallendarVanDusen {
  r0: number
  a: number
  b: number
  /** Acts below 0 degC only. */
  c: number
}

/** IEC 60751's equations with a thermometer's own coefficients. */
export function callendarVanDusenResistance({ r0, a, b, c }: CallendarVanDusen, t: number): number {
  const low = t < 0 ? c * (t - 100) * t * t * t : 0
  return r0 * (1 + a * t + b * t * t + low)
}
