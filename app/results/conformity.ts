import { callendarVanDusenRatio, callendarVanDusenTemperature, IEC60751 } from '../thermometry/iec60751.ts'
import { TOLERANCE_CLASSES, type ToleranceClass } from '../thermometry/iec60751-classes.ts'

export const CLASS_SOURCE = 'IEC 60751:2008, tolerance classes of wire-wound thermometers'

/**
 * What a result says of a tolerance. `pass`: the deviation lies within the tolerance less the guard band.
 * `conditional-pass`: within the tolerance, but not by the guard band. `conditional-fail` and `fail` likewise outside.
 */
export type Verdict = 'pass' | 'conditional-pass' | 'conditional-fail' | 'fail'

export const VERDICT_WORDS: Readonly<Record<Verdict, string>> = {
  pass: 'pass',
  'conditional-pass': 'conditional pass',
  'conditional-fail': 'conditional fail',
  fail: 'fail',
}

export interface DecisionRule {
  readonly words: string
  /** Guard band as a multiple of the expanded uncertainty. */
  readonly guardFactor: number
}

/**
 * The decision rule used unless the customer agrees another: non-binary statement with guard band w = U.
 *
 * Source: ILAC-G8:09/2019, 4.2.2 and 4.2.3 (numbers of the clauses from memory).
 */
export const DEFAULT_RULE: DecisionRule = {
  guardFactor: 1,
  words:
    'Non-binary statement with a guard band equal to the expanded uncertainty (w = U), after ILAC-G8:09/2019. ' +
    'Pass: the deviation lies within the tolerance reduced by U, so that a false acceptance has a probability below 2.5 %. ' +
    'Conditional pass: it lies within the tolerance, but closer to its limit than U. ' +
    'Conditional fail: it lies outside the tolerance, but by less than U. Fail: outside by more than U.',
}

export function verdictOf(
  deviationMk: number,
  toleranceMk: number,
  expandedMk: number,
  rule = DEFAULT_RULE,
): Verdict {
  const guard = rule.guardFactor * expandedMk
  const size = Math.abs(deviationMk)
  if (size <= toleranceMk - guard) return 'pass'
  if (size <= toleranceMk) return 'conditional-pass'
  return size <= toleranceMk + guard ? 'conditional-fail' : 'fail'
}

/** A bath is never quite at its setpoint: this far outside a class's range a point still counts as at its end, K. */
const END_K = 0.1

const WORST: readonly Verdict[] = ['pass', 'conditional-pass', 'conditional-fail', 'fail']
export const worstOf = (verdicts: readonly Verdict[]): Verdict =>
  WORST[Math.max(...verdicts.map((v) => WORST.indexOf(v)))] ?? 'fail'

export interface ConformityPoint {
  readonly point: string
  readonly celsius: number
  readonly deviationMk: number
  readonly expandedMk: number
  readonly toleranceMk: number
  readonly verdict: Verdict
}

export interface Conformity {
  readonly class: ToleranceClass
  readonly source: string
  readonly rule: DecisionRule
  readonly points: readonly ConformityPoint[]
  readonly verdict: Verdict
}

/** Deviation of a platinum thermometer from the standard's relation, mK: t(R) by IEC 60751 less the true temperature. */
export function deviationFromStandardMk(ohm: number, nominalOhm: number, celsius: number): number {
  return (callendarVanDusenTemperature(IEC60751, ohm / nominalOhm) - celsius) * 1e3
}

/** Resistance that the standard's relation gives at a temperature, ohm. */
export function standardOhm(nominalOhm: number, celsius: number): number {
  return nominalOhm * callendarVanDusenRatio(IEC60751, celsius)
}

/**
 * The narrowest class whose every point passes without condition; where none does, the class that fares best, with
 * what it says. Points outside a class's range rule that class out.
 */
export function conformityOf(
  points: readonly { point: string; celsius: number; ohm: number; expandedMk: number }[],
  nominalOhm: number,
  rule = DEFAULT_RULE,
): Conformity | null {
  if (points.length === 0) return null
  const holds = (lowC: number, highC: number) =>
    points.every(({ celsius }) => celsius >= lowC - END_K && celsius <= highC + END_K)
  const judged = TOLERANCE_CLASSES.filter((c) => holds(...c.range['wire-wound'])).map((c): Conformity => {
    const rows = points.map(({ point, celsius, ohm, expandedMk }): ConformityPoint => {
      const deviationMk = deviationFromStandardMk(ohm, nominalOhm, celsius)
      const toleranceMk = (c.a + c.b * Math.abs(celsius)) * 1e3
      return {
        point,
        celsius,
        deviationMk,
        expandedMk,
        toleranceMk,
        verdict: verdictOf(deviationMk, toleranceMk, expandedMk, rule),
      }
    })
    return {
      class: c.name,
      source: CLASS_SOURCE,
      rule,
      points: rows,
      verdict: worstOf(rows.map((r) => r.verdict)),
    }
  })
  return judged.toSorted((a, b) => WORST.indexOf(a.verdict) - WORST.indexOf(b.verdict))[0] ?? null
}
