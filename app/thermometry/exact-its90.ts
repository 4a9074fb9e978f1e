import { first } from '../base/lists.ts'
import type { Its90Conversion, Its90Set } from '../kinds/conversion.ts'
import { D, type D as Dec, decimal, decimalPolynomial, refine } from './decimal.ts'
import { type Branch, changeOverRatio, its90Branches } from './its90.ts'
import {
  REFERENCE_A,
  REFERENCE_C,
  referenceRatioHigh,
  referenceSlopeHigh,
  referenceSlopeLow,
  WTP_C,
  WTP_K,
  ZERO_C_K,
} from './its90-reference.ts'

/**
 * Reference function of the low range with forty digits; see `referenceRatioLow`.
 *
 * Symbols  t90 temperature, degC; Wr reference ratio, 1
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equation (9a) and Table 4
 * Valid    -259.3467 degC to 0.01 degC
 * Throws   nothing; NaN at or below absolute zero
 */
export function exactReferenceRatioLow(t90: Dec): Dec {
  return D.exp(decimalPolynomial(REFERENCE_A, lowArgument(t90)))
}

function lowArgument(t90: Dec): Dec {
  return D.ln(t90.plus(ZERO_C_K).div(WTP_K)).plus(1.5).div(1.5)
}

/**
 * Reference function of the high range with forty digits; see `referenceRatioHigh`.
 *
 * Symbols  t90 temperature, degC; Wr reference ratio, 1
 * Source   ITS-90, Metrologia 27, 3-10 (1990), equation (10a) and Table 4
 * Valid    0 degC to 961.78 degC
 * Throws   nothing
 */
export function exactReferenceRatioHigh(t90: Dec): Dec {
  return decimalPolynomial(REFERENCE_C, t90.minus(481).div(481))
}

/** Deviation of a branch with forty digits, from the coefficients as written. */
function exactDeviation({ range, deviation }: Branch, set: Its90Set): (w: Dec) => Dec {
  const k = (name: keyof Its90Set['coefficients']) => decimal(set.coefficients[name] ?? 0)
  if (range.form === 'log') return (w) => w.minus(1).times(k('a').plus(k('b').times(D.ln(w))))
  if (range.form === 'log-powers') {
    const c = (['c1', 'c2', 'c3', 'c4', 'c5'] as const).map(k)
    return (w) => {
      const log = D.ln(w)
      return decimalPolynomial([0, k('a'), k('b')], w.minus(1)).plus(
        decimalPolynomial(c, log).times(log.pow(range.n + 1)),
      )
    }
  }
  const smooth = (w: Dec) => decimalPolynomial([0, k('a'), k('b'), k('c')], w.minus(1))
  const d = k('d')
  if (d.isZero()) return smooth
  const wrAluminium = exactReferenceRatioHigh(decimal(660.323))
  const wAluminium =
    set.wAluminium !== undefined
      ? decimal(set.wAluminium)
      : refine(deviation.wAluminium, 1, (w) => w.minus(smooth(w)).minus(wrAluminium))
  return (w) => (w.gt(wAluminium) ? smooth(w).plus(w.minus(wAluminium).pow(2).times(d)) : smooth(w))
}

export interface ExactRelation {
  /** Temperature of a signal, degC; `start` is the answer in doubles, `slope` dSignal/dt there. */
  temperature(signal: Dec, start: number, slope: number): Dec
  /** Signal at a temperature; `start` is the answer in doubles, `slope` dSignal/dt there. */
  signalAt(t90: Dec, start: number, slope: number): Dec
}

/**
 * A platinum thermometer on ITS-90 with forty digits, as a relation between W and temperature.
 *
 * Symbols  W measured ratio, 1; t90 in degC
 * Source   ITS-90, Metrologia 27, 3-10 (1990), section 3.3
 * Valid    as `its90Sensor`; the branch is the one that the double path takes
 * Throws   as `its90Sensor`
 */
export function exactIts90(conversion: Its90Conversion): ExactRelation {
  const branches = its90Branches(conversion)
  const relations = branches.map((branch) => ({
    branch,
    deviation: exactDeviation(branch, branch.prefix === '' ? conversion : conversion.joined!),
  }))
  const changeOver = branches[1] ? changeOverRatio(branches[1]) : Number.POSITIVE_INFINITY
  const at = (isUpper: boolean) => (relations[1] && isUpper ? relations[1] : first(relations))
  const isLow = ({ range }: Branch, t90: number) =>
    range.reference === 'low' || (range.reference === 'both' && t90 < WTP_C)
  return {
    temperature: (w, start) => {
      const { branch, deviation } = at(w.gte(changeOver))
      const wr = w.minus(deviation(w))
      if (!wr.gt(0)) return decimal(Number.NaN)
      if (branch.range.reference === 'low' || (branch.range.reference === 'both' && wr.lt(RATIO_AT_WTP))) {
        const log = D.ln(wr)
        const slope = referenceSlopeLow(start) / Number(wr)
        return refine(start, slope, (t) => decimalPolynomial(REFERENCE_A, lowArgument(t)).minus(log))
      }
      return refine(start, referenceSlopeHigh(start), (t) => exactReferenceRatioHigh(t).minus(wr))
    },
    signalAt: (t90, start) => {
      const { branch, deviation } = at(t90.gte(0))
      const wr = isLow(branch, t90.toNumber()) ? exactReferenceRatioLow(t90) : exactReferenceRatioHigh(t90)
      return refine(start, 1 - branch.deviation.slope(start), (w) => w.minus(deviation(w)).minus(wr))
    },
  }
}

/** The same change-over as in doubles, so that both paths always use the same function. */
const RATIO_AT_WTP = referenceRatioHigh(WTP_C) - 1e-15
