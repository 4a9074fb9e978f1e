import { said } from '../messages/said.ts'
import { ThermometryError } from './errors.ts'
import { referenceRatioHigh } from './its90-reference.ts'
import type { CoefficientName, Subrange } from './its90-subranges.ts'
import { polynomial } from './polynomial.ts'

export type Coefficients = Readonly<Partial<Record<CoefficientName, number>>>

/** A thermometer's deviation W - Wr as a function of the measured W, with its slope and its terms. */
export interface Deviation {
  value(w: number): number
  slope(w: number): number
  /** The factor of each coefficient at W: the row of a design matrix. */
  terms(w: number): number[]
  /** W(660.323 degC), where there is a d term. */
  readonly wAluminium: number
}

/**
 * The terms of a subrange's deviation function at a measured ratio, in the order of its coefficients: a row of the
 * design matrix from which the coefficients are found.
 *
 *   3.3.1, 3.3.1.1, 3.3.1.2   W - 1, (W - 1)^2, (ln W)^(i + n)
 *   3.3.1.3                   W - 1, (W - 1) ln W
 *   3.3.2 to 3.3.3            W - 1, (W - 1)^2, (W - 1)^3, [W - W(660.323 degC)]^2 above that ratio, else 0
 *
 * Symbols  W measured ratio R(T90)/R(273.16 K), 1; W(660.323 degC) the thermometer's own ratio at aluminium, 1
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equations (12), (13) and (14) (numbers from memory); Table 5
 * Valid    W > 0
 * Throws   nothing; NaN for a negative W where a logarithm is taken
 */
export function deviationTerms(range: Subrange, w: number, wAluminium: number): number[] {
  const x = w - 1
  if (range.form === 'log') return [x, x * Math.log(w)]
  if (range.form === 'log-powers') {
    const log = Math.log(w)
    return range.coefficients.map((_, i) => (i === 0 ? x : i === 1 ? x * x : log ** (i - 1 + range.n)))
  }
  const beyond = w > wAluminium ? w - wAluminium : 0
  return [x, x * x, x * x * x, beyond * beyond].slice(0, range.coefficients.length)
}

/**
 * W(660.323 degC) that the coefficients a, b and c themselves imply; right where they were found at that point.
 *
 *   W - a(W - 1) - b(W - 1)^2 - c(W - 1)^3 = Wr(660.323 degC)
 *
 * Symbols  W measured ratio, 1; a, b, c deviation coefficients, 1
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equation (14) (number from memory) and section 3.3.2
 * Valid    deviations small beside W
 * Throws   nothing
 */
export function impliedAluminiumRatio(coefficients: Coefficients): number {
  const terms = [0, coefficients.a ?? 0, coefficients.b ?? 0, coefficients.c ?? 0]
  const wr = referenceRatioHigh(660.323)
  let w = wr
  for (let i = 0; i < 20; i++) w = wr + polynomial(terms, w - 1)
  return w
}

/**
 * The deviation function of a subrange with a thermometer's coefficients; its argument is the measured W.
 *
 * Symbols  W measured ratio, 1; W - Wr deviation, 1; coefficients 1; W(660.323 degC) 1
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equations (12), (13) and (14) (numbers from memory)
 * Valid    W > 0; the d term acts above W(660.323 degC) only, and that ratio is implied by a, b, c when not given
 * Throws   ThermometryError 'not-finite' for a coefficient that is no finite number
 */
export function deviationFunction(
  range: Subrange,
  coefficients: Coefficients,
  wAluminium = impliedAluminiumRatio(coefficients),
): Deviation {
  for (const name of range.coefficients) {
    if (!Number.isFinite(coefficients[name] ?? 0)) {
      throw new ThermometryError('not-finite', said('coefficient-not-finite-number', { name }), { name })
    }
  }
  const { a = 0, b = 0, c = 0, d = 0 } = coefficients
  const terms = (w: number) => deviationTerms(range, w, wAluminium)
  if (range.form === 'log') {
    return {
      value: (w) => (w - 1) * (a + b * Math.log(w)),
      slope: (w) => a + b * (Math.log(w) + (w - 1) / w),
      terms,
      wAluminium,
    }
  }
  if (range.form === 'log-powers') {
    const { c1 = 0, c2 = 0, c3 = 0, c4 = 0, c5 = 0 } = coefficients
    const { n } = range
    return {
      value: (w) => {
        const x = w - 1
        const log = Math.log(w)
        return x * (a + b * x) + log ** (n + 1) * (c1 + log * (c2 + log * (c3 + log * (c4 + log * c5))))
      },
      slope: (w) => {
        const log = Math.log(w)
        const inner =
          (n + 1) * c1 +
          log * ((n + 2) * c2 + log * ((n + 3) * c3 + log * ((n + 4) * c4 + log * (n + 5) * c5)))
        return a + 2 * b * (w - 1) + (log ** n * inner) / w
      },
      terms,
      wAluminium,
    }
  }
  if (d === 0) {
    return {
      value: (w) => {
        const x = w - 1
        return x * (a + x * (b + x * c))
      },
      slope: (w) => {
        const x = w - 1
        return a + x * (2 * b + 3 * c * x)
      },
      terms,
      wAluminium,
    }
  }
  return {
    value: (w) => {
      const x = w - 1
      const smooth = x * (a + x * (b + x * c))
      return w > wAluminium ? smooth + d * (w - wAluminium) * (w - wAluminium) : smooth
    },
    slope: (w) => {
      const x = w - 1
      const smooth = a + x * (2 * b + 3 * c * x)
      return w > wAluminium ? smooth + 2 * d * (w - wAluminium) : smooth
    },
    terms,
    wAluminium,
  }
}

/**
 * The measured ratio W at which a deviation function gives a reference ratio: Newton on W - f(W) = Wr.
 *
 * Symbols  Wr reference ratio, 1; W measured ratio, 1; f deviation function
 * Source   ITS-90, Metrologia 27, 3-10 (1990), section 3.3: the deviation is a function of the measured W
 * Valid    deviations small beside W; steps that would leave W > 0 are halved
 * Throws   nothing; NaN where Newton's rule does not settle
 */
export function ratioFromReference(deviation: Deviation, wr: number): number {
  let w = wr
  for (let i = 0; i < 60; i++) {
    let step = (wr - (w - deviation.value(w))) / (1 - deviation.slope(w))
    if (!Number.isFinite(step)) return Number.NaN
    while (w + step <= 0 && step < -Number.MIN_VALUE) step /= 2
    w += step
    if (Math.abs(step) <= 2e-16 * w) return w
    // Once the step is of the size of the rounding of W it no longer falls; one more pass settles the last bit.
    if (i > 6 && Math.abs(step) < 1e-14 * w) return w
  }
  return Number.NaN
}
