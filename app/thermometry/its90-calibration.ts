import { at } from '../base/lists.ts'
import type { Its90Section } from '../kinds/conversion.ts'
import { deviationTerms, impliedAluminiumRatio } from './its90-deviation.ts'
import { referenceRatioHigh, referenceRatioLow, WTP_C } from './its90-reference.ts'
import { type CoefficientName, type Subrange, subrange } from './its90-subranges.ts'

/**
 * Reference ratio that a subrange uses at a temperature: 3.3.1 and below it the low function, 3.3.2 and below it the
 * high one, 3.3.3 the low one below 273.16 K.
 *
 * Symbols  t90 in degC; Wr in 1
 * Source   ITS-90, Metrologia 27, 3-10 (1990), sections 3.3.1 to 3.3.3
 * Valid    the range of the subrange
 * Throws   nothing
 */
export function subrangeReferenceRatio({ reference }: Subrange, t90: number): number {
  return reference === 'low' || (reference === 'both' && t90 < WTP_C)
    ? referenceRatioLow(t90)
    : referenceRatioHigh(t90)
}

export interface Finding {
  readonly severity: 'error' | 'warning'
  readonly words: string
}

/** ITS-90 (1990), section 3.3: what a platinum thermometer's ratios must reach (figures from memory of the text). */
export const ACCEPTANCE = { gallium: 1.11807, mercury: 0.844235, silver: 4.2844 } as const

/** Larger deviations than these are typing errors or another thermometer's; common practice, no source. */
const LARGEST_DEVIATION = 3e-3

/**
 * Looks for typing errors in a certificate's coefficients: deviations too large for platinum, a deviation that does not
 * vanish at the water triple point, a relation that is not monotonic, and ratios below what the scale asks of a
 * thermometer's platinum.
 *
 * Symbols  coefficients 1; W ratio, 1; W(660.323 degC) 1
 * Source   ITS-90, Metrologia 27, 3-10 (1990), section 3.3 (acceptance); sizes: common practice, no source
 * Valid    every subrange; an empty list means that nothing was found, not that the coefficients are right
 * Throws   ThermometryError 'unknown-subrange'
 */
export function checkCertificate(
  section: Its90Section,
  coefficients: Partial<Record<CoefficientName, number>>,
  rWtp?: number,
  wAluminium?: number,
): Finding[] {
  const range = subrange(section)
  const findings: Finding[] = []
  const aluminium = wAluminium ?? impliedAluminiumRatio(coefficients)
  const deviationAt = (w: number) =>
    deviationTerms(range, w, aluminium).reduce(
      (sum, term, i) => sum + term * (coefficients[at(range.coefficients, i)] ?? 0),
      0,
    )
  const missing = range.coefficients.filter((name) => coefficients[name] === undefined)
  if (missing.length > 0) {
    findings.push({ severity: 'error', words: `Subrange ${section} needs ${missing.join(', ')} as well.` })
  }
  const steps = 200
  let previous = Number.NEGATIVE_INFINITY
  let largest = { deviation: 0, t90: range.lowC }
  let falls: number | undefined
  for (let i = 0; i <= steps; i++) {
    const t90 = range.lowC + ((range.highC - range.lowC) * i) / steps
    const wr = subrangeReferenceRatio(range, t90)
    let w = wr
    for (let k = 0; k < 5; k++) w = wr + deviationAt(w)
    if (!(w > previous)) falls ??= t90
    previous = w
    if (!(Math.abs(w - wr) <= Math.abs(largest.deviation))) largest = { deviation: w - wr, t90 }
  }
  if (!(Math.abs(largest.deviation) <= LARGEST_DEVIATION)) {
    findings.push({
      severity: 'error',
      words:
        `W differs from the reference function by ${largest.deviation.toExponential(2)} at ${largest.t90.toFixed(1)} degC; ` +
        'a platinum thermometer differs by less than 3e-3. Look for a wrong sign or exponent.',
    })
  } else if (falls !== undefined) {
    findings.push({
      severity: 'error',
      words: `W does not rise with temperature at ${falls.toFixed(1)} degC. Look for a wrong sign or exponent.`,
    })
  }
  const ratioAt = (t90: number) => {
    const wr = subrangeReferenceRatio(range, t90)
    let w = wr
    for (let k = 0; k < 20; k++) w = wr + deviationAt(w)
    return w
  }
  const judged = (t90: number) => t90 >= range.lowC && t90 <= range.highC
  const words: string[] = []
  let passed = false
  for (const [t90, limit, sign] of [
    [29.7646, ACCEPTANCE.gallium, 1],
    [-38.8344, ACCEPTANCE.mercury, -1],
  ] as const) {
    if (!judged(t90)) continue
    const w = ratioAt(t90)
    if (sign * (w - limit) >= 0) passed = true
    else
      words.push(
        `W(${t90} degC) is ${w.toFixed(8)}; the scale asks for ${sign > 0 ? 'at least' : 'at most'} ${limit}.`,
      )
  }
  // The scale asks for one of the two: one that passes is enough.
  if (!passed && words.length > 0) findings.push({ severity: 'error', words: words.join(' ') })
  if (judged(961.78) && !(ratioAt(961.78) >= ACCEPTANCE.silver)) {
    findings.push({
      severity: 'warning',
      words: `W(961.78 degC) is ${ratioAt(961.78).toFixed(8)}; the scale asks for at least ${ACCEPTANCE.silver} up to silver.`,
    })
  }
  if (rWtp !== undefined && !(rWtp > 0 && rWtp < 2000)) {
    findings.push({
      severity: 'error',
      words: `R(WTP) of ${rWtp} ohm is not that of a platinum thermometer.`,
    })
  }
  return findings
}
