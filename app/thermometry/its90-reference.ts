/**
 * The two reference functions of ITS-90 for platinum resistance thermometers and their inverses.
 * The polynomials are written out term by term: a loop over an array costs the live path about half its speed.
 */

/** ITS-90 (1990), Table 4, coefficients A_i of equation (9a). */
export const REFERENCE_A: readonly number[] = [
  -2.13534729, 3.1832472, -1.80143597, 0.71727204, 0.50344027, -0.61899395, -0.05332322, 0.28021362,
  0.10715224, -0.29302865, 0.04459872, 0.11868632, -0.05248134,
]
/** ITS-90 (1990), Table 4, coefficients C_i of equation (10a). */
export const REFERENCE_C: readonly number[] = [
  2.78157254, 1.64650916, -0.1371439, -0.00649767, -0.00234444, 0.00511868, 0.00187982, -0.00204472,
  -0.00046122, 0.00045724,
]

/** Triple point of water, degC and kelvin; 0 degC in kelvin; the range limits of the functions, degC. */
export const WTP_C = 0.01
export const WTP_K = 273.16
export const ZERO_C_K = 273.15
export const LOWEST_C = -259.3467
export const HIGHEST_C = 961.78

/** Newton's last step, kelvin: below it the next would be under the resolution of a double. */
const LAST_STEP_K = 1e-9
const MOST_STEPS = 20

/**
 * The second Newton step is known before it is taken: the square of the first times -(d2Wr/dT2)/(2 dWr/dT). Inside the
 * ranges the approximate inverses leave less than 0.1 mK and
 * 0.19 mK to the first step; after both, what is left is below 1e-13 K
 * and the reference function need not be evaluated again. For the high function a straight line gives the factor to
 * 4 %, which is enough; for the low one it is taken from the polynomial. Further off, plain Newton goes on.
 */
const FIRST_STEP_LOW_X = 1e-5
const FIRST_STEP_HIGH_X = 4e-7
const BEND_AT_481 = 0.0851
const BEND_PER_X = 0.013

const logPolynomial = (x: number) =>
  -2.13534729 +
  x *
    (3.1832472 +
      x *
        (-1.80143597 +
          x *
            (0.71727204 +
              x *
                (0.50344027 +
                  x *
                    (-0.61899395 +
                      x *
                        (-0.05332322 +
                          x *
                            (0.28021362 +
                              x *
                                (0.10715224 +
                                  x *
                                    (-0.29302865 +
                                      x * (0.04459872 + x * (0.11868632 + x * -0.05248134)))))))))))

const logPolynomialSlope = (x: number) =>
  3.1832472 +
  x *
    (2 * -1.80143597 +
      x *
        (3 * 0.71727204 +
          x *
            (4 * 0.50344027 +
              x *
                (5 * -0.61899395 +
                  x *
                    (6 * -0.05332322 +
                      x *
                        (7 * 0.28021362 +
                          x *
                            (8 * 0.10715224 +
                              x *
                                (9 * -0.29302865 +
                                  x *
                                    (10 * 0.04459872 + x * (11 * 0.11868632 + x * (12 * -0.05248134)))))))))))

/** Second derivative of the polynomial of equation (9a). */
const logPolynomialBend = (x: number) =>
  2 * -1.80143597 +
  x *
    (6 * 0.71727204 +
      x *
        (12 * 0.50344027 +
          x *
            (20 * -0.61899395 +
              x *
                (30 * -0.05332322 +
                  x *
                    (42 * 0.28021362 +
                      x *
                        (56 * 0.10715224 +
                          x *
                            (72 * -0.29302865 +
                              x * (90 * 0.04459872 + x * (110 * 0.11868632 + x * (132 * -0.05248134))))))))))

const highPolynomial = (x: number) =>
  2.78157254 +
  x *
    (1.64650916 +
      x *
        (-0.1371439 +
          x *
            (-0.00649767 +
              x *
                (-0.00234444 +
                  x *
                    (0.00511868 +
                      x * (0.00187982 + x * (-0.00204472 + x * (-0.00046122 + x * 0.00045724))))))))

const highPolynomialSlope = (x: number) =>
  1.64650916 +
  x *
    (2 * -0.1371439 +
      x *
        (3 * -0.00649767 +
          x *
            (4 * -0.00234444 +
              x *
                (5 * 0.00511868 +
                  x *
                    (6 * 0.00187982 +
                      x * (7 * -0.00204472 + x * (8 * -0.00046122 + x * (9 * 0.00045724))))))))

/**
 * Reference function of the low range.
 *
 *   ln Wr = sum_{i=0..12} A_i [(ln(T90/273.16 K) + 1.5)/1.5]^i
 *
 * Symbols  t90 temperature, degC; T90 = t90 + 273.15, kelvin; Wr reference ratio, 1
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equation (9a) and Table 4
 * Valid    -259.3467 degC (13.8033 K) to 0.01 degC (273.16 K)
 * Throws   nothing; NaN at or below absolute zero
 */
export function referenceRatioLow(t90: number): number {
  return Math.exp(logPolynomial((Math.log((t90 + ZERO_C_K) / WTP_K) + 1.5) / 1.5))
}

/**
 * Slope of the reference function of the low range, dWr/dT90.
 *
 * Symbols  t90 temperature, degC; dWr/dT90 in 1/K
 * Source   derivative of ITS-90 equation (9a), Metrologia 27, 3-10 (1990)
 * Valid    -259.3467 degC to 0.01 degC
 * Throws   nothing; NaN at or below absolute zero
 */
export function referenceSlopeLow(t90: number): number {
  const kelvin = t90 + ZERO_C_K
  const x = (Math.log(kelvin / WTP_K) + 1.5) / 1.5
  return (Math.exp(logPolynomial(x)) * logPolynomialSlope(x)) / (1.5 * kelvin)
}

/**
 * Reference function of the high range.
 *
 *   Wr = sum_{i=0..9} C_i [(T90/K - 754.15)/481]^i
 *
 * Symbols  t90 temperature, degC; Wr reference ratio, 1
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equation (10a) and Table 4
 * Valid    0 degC (273.15 K) to 961.78 degC (1234.93 K)
 * Throws   nothing
 */
export function referenceRatioHigh(t90: number): number {
  return highPolynomial((t90 - 481) / 481)
}

/**
 * Slope of the reference function of the high range, dWr/dT90.
 *
 * Symbols  t90 temperature, degC; dWr/dT90 in 1/K
 * Source   derivative of ITS-90 equation (10a), Metrologia 27, 3-10 (1990)
 * Valid    0 degC to 961.78 degC
 * Throws   nothing
 */
export function referenceSlopeHigh(t90: number): number {
  return highPolynomialSlope((t90 - 481) / 481) / 481
}

/**
 * Approximate inverse of the low reference function, good to 0.1 mK: the first guess of Newton's rule.
 *
 *   T90/273.16 K = B_0 + sum_{i=1..15} B_i [(Wr^(1/6) - 0.65)/0.35]^i
 *
 * Symbols  Wr reference ratio, 1; t90 temperature, degC
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equation (9b) and Table 4
 * Valid    Wr of 13.8033 K to 273.16 K
 * Throws   nothing; NaN for a negative Wr
 */
export function approximateTemperatureLow(wr: number): number {
  return approximateRatioOfTemperatures(wr ** (1 / 6)) * WTP_K - ZERO_C_K
}

/** T90/273.16 K from the sixth root of Wr. */
const approximateRatioOfTemperatures = (root: number) => {
  const x = (root - 0.65) * (1 / 0.35)
  const high = 0.012475611 + x * (-0.032267127 + x * (-0.075291522 + x * (-0.05647067 + x * highestB(x))))
  return (
    0.183324722 +
    x *
      (0.240975303 + x * (0.209108771 + x * (0.190439972 + x * (0.142648498 + x * (0.077993465 + x * high)))))
  )
}

const highestB = (x: number) =>
  0.076201285 +
  x * (0.123893204 + x * (-0.029201193 + x * (-0.091173542 + x * (0.001317696 + x * 0.026025526))))

/**
 * Approximate inverse of the high reference function, good to 0.13 mK: the first guess of Newton's rule.
 *
 *   T90/K - 273.15 = D_0 + sum_{i=1..9} D_i [(Wr - 2.64)/1.64]^i
 *
 * Symbols  Wr reference ratio, 1; t90 temperature, degC
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equation (10b) and Table 4
 * Valid    Wr of 273.15 K to 1234.93 K
 * Throws   nothing
 */
export function approximateTemperatureHigh(wr: number): number {
  const x = (wr - 2.64) * (1 / 1.64)
  return (
    439.932854 +
    x *
      (472.41802 +
        x *
          (37.684494 +
            x *
              (7.472018 +
                x *
                  (2.920828 +
                    x * (0.005184 + x * (-0.963864 + x * (-0.188732 + x * (0.191203 + x * 0.049025))))))))
  )
}

/**
 * Temperature of a reference ratio in the low range: approximate inverse, then Newton on equation (9a).
 *
 * Symbols  Wr reference ratio, 1; t90 temperature, degC
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equations (9a) and (9b)
 * Valid    Wr of 13.8033 K to 273.16 K; last step below 1e-9 K
 * Throws   nothing; NaN where Newton's rule does not settle
 */
export function referenceTemperatureLow(wr: number): number {
  const target = Math.log(wr)
  const guess = approximateRatioOfTemperatures(Math.exp(target / 6))
  const kelvin = guess * WTP_K
  let x = Math.log(guess) / 1.5 + 1
  const slope = logPolynomialSlope(x)
  let step = (target - logPolynomial(x)) / slope
  if (Math.abs(step) < FIRST_STEP_LOW_X) {
    // Both steps at once, in x, then 1.5 dx as a change of ln T: exp(y) - 1 = y + y^2/2 to 1e-15 of T.
    const y = 1.5 * (step - (step * step * logPolynomialBend(x)) / (2 * slope))
    return kelvin - ZERO_C_K + kelvin * (y + (y * y) / 2)
  }
  for (let i = 0; i < MOST_STEPS; i++) {
    x += step
    const t90 = WTP_K * Math.exp(1.5 * (x - 1)) - ZERO_C_K
    if (Math.abs(step) * 1.5 * (t90 + ZERO_C_K) < LAST_STEP_K) return t90
    step = (target - logPolynomial(x)) / logPolynomialSlope(x)
  }
  return Number.NaN
}

/**
 * Temperature of a reference ratio in the high range: approximate inverse, then Newton on equation (10a).
 *
 * Symbols  Wr reference ratio, 1; t90 temperature, degC
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equations (10a) and (10b)
 * Valid    Wr of 273.15 K to 1234.93 K; last step below 1e-9 K
 * Throws   nothing; NaN where Newton's rule does not settle
 */
export function referenceTemperatureHigh(wr: number): number {
  // Everything in x = (t90 - 481)/481: the guess may be rounded at will, since x itself is where the function is taken.
  let x = approximateTemperatureHigh(wr) * (1 / 481) - 1
  let step = (wr - highPolynomial(x)) / highPolynomialSlope(x)
  if (Math.abs(step) < FIRST_STEP_HIGH_X)
    return 481 + 481 * (x + (step + step * step * (BEND_AT_481 + BEND_PER_X * x)))
  for (let i = 0; i < MOST_STEPS; i++) {
    x += step
    if (Math.abs(step) * 481 < LAST_STEP_K) return 481 + 481 * x
    step = (wr - highPolynomial(x)) / highPolynomialSlope(x)
  }
  return Number.NaN
}

/**
 * Reference ratio at any temperature of the platinum range: the low function below 273.16 K, the high one from there.
 *
 * Symbols  t90 temperature, degC; Wr reference ratio, 1
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equations (9a) and (10a)
 * Valid    -259.3467 degC to 961.78 degC; the two functions differ by 5.3e-9 (1.3 microkelvin) at 273.16 K
 * Throws   nothing
 */
export function referenceRatio(t90: number): number {
  return t90 < WTP_C ? referenceRatioLow(t90) : referenceRatioHigh(t90)
}

/**
 * Slope dWr/dT90 at any temperature of the platinum range, changing over at 273.16 K like `referenceRatio`.
 *
 * Symbols  t90 temperature, degC; dWr/dT90 in 1/K
 * Source   derivatives of ITS-90 equations (9a) and (10a), Metrologia 27, 3-10 (1990)
 * Valid    -259.3467 degC to 961.78 degC
 * Throws   nothing
 */
export function referenceSlope(t90: number): number {
  return t90 < WTP_C ? referenceSlopeLow(t90) : referenceSlopeHigh(t90)
}

/** Wr of the high function at 273.16 K, less its rounding, by which an inverse tells the two functions apart. */
const RATIO_AT_WTP = referenceRatioHigh(WTP_C) - 1e-15

/**
 * Temperature of a reference ratio anywhere in the platinum range.
 *
 * Symbols  Wr reference ratio, 1; t90 temperature, degC
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equations (9a), (9b), (10a), (10b)
 * Valid    Wr of 13.8033 K to 1234.93 K; from Wr(273.16 K) of the high function on, the high function holds
 * Throws   nothing; NaN where Newton's rule does not settle
 */
export function referenceTemperature(wr: number): number {
  return wr < RATIO_AT_WTP ? referenceTemperatureLow(wr) : referenceTemperatureHigh(wr)
}
