import type { ConformityAsked, Construction, DecisionRuleName } from '../records/certificate.ts'
import { callendarVanDusenRatio, callendarVanDusenTemperature, IEC60751 } from '../thermometry/iec60751.ts'
import {
  TOLERANCE_CLASSES,
  type Tolerance,
  type ToleranceClass,
  toleranceClass,
} from '../thermometry/iec60751-classes.ts'

export const CLASS_SOURCE = 'IEC 60751:2022'
const FORMER_CLASS_SOURCE = 'IEC 60751:2008, tolerance classes of wire-wound thermometers'

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
 * The rules that can be agreed: simple acceptance (w = 0), and a non-binary statement with guard band w = U.
 *
 * Source: ILAC-G8:09/2019, 4.2.1 to 4.2.3 (numbers of the clauses from memory).
 */
export const RULES: Readonly<Record<DecisionRuleName, DecisionRule>> = {
  simple: {
    guardFactor: 0,
    words:
      'Binary statement by simple acceptance (w = 0), after ILAC-G8:09/2019. Pass: the deviation lies within the tolerance. Fail: it lies ' +
      'outside. Near the limit a false acceptance or rejection has a probability of up to 50 %.',
  },
  guarded: {
    guardFactor: 1,
    words:
      'Non-binary statement with a guard band equal to the expanded uncertainty (w = U), after ILAC-G8:09/2019. ' +
      'Pass: the deviation lies within the tolerance reduced by U, so that a false acceptance has a probability below 2.5 %. ' +
      'Conditional pass: it lies within the tolerance, but closer to its limit than U. ' +
      'Conditional fail: it lies outside the tolerance, but by less than U. Fail: outside by more than U.',
  },
}

export function verdictOf(
  deviationMk: number,
  toleranceMk: number,
  expandedMk: number,
  rule = RULES.guarded,
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

interface Judged {
  readonly point: string
  readonly celsius: number
  readonly ohm: number
  readonly expandedMk: number
}

const holdsAt = ({ range }: Tolerance, construction: Construction, points: readonly Judged[]) =>
  points.filter(
    ({ celsius }) => celsius >= range[construction][0] - END_K && celsius <= range[construction][1] + END_K,
  )

function judge(
  points: readonly Judged[],
  nominalOhm: number,
  c: Tolerance,
  rule: DecisionRule,
  source: string,
): Conformity {
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
  return { class: c.name, source, rule, points: rows, verdict: worstOf(rows.map((r) => r.verdict)) }
}

/**
 * What the points say of the class that was asked for, by the rule that was agreed; or in words why nothing is said: the
 * element's construction is not stated, or a point lies outside the range in which the class holds for it.
 */
export function conformityAsked(
  points: readonly Judged[],
  nominalOhm: number,
  asked: ConformityAsked,
  construction: Construction | undefined,
): Conformity | { readonly refusal: string } {
  if (!construction) {
    return {
      refusal:
        `No statement on class ${asked.class} is made: the record does not say whether the element is wire-wound or film, on which the ` +
        'range of the class depends. Enter its construction in the register.',
    }
  }
  const found = toleranceClass(asked.class)
  const outside = points.filter((p) => !holdsAt(found, construction, points).includes(p))
  if (outside.length > 0) {
    const [low, high] = found.range[construction]
    return {
      refusal:
        `No statement on class ${asked.class} is made: for a ${construction} element it holds from ${low} °C to ${high} °C, and ` +
        `${outside.map(({ celsius }) => `${celsius.toFixed(2)} °C`).join(', ')} ${outside.length === 1 ? 'lies' : 'lie'} outside.`,
    }
  }
  return judge(
    points,
    nominalOhm,
    found,
    RULES[asked.rule],
    `${CLASS_SOURCE}, ${construction} element as stated`,
  )
}

/**
 * The narrowest class of wire-wound thermometers whose every point passes, as reports were judged before the class was
 * agreed with the customer: kept so that what was signed then can be computed again.
 */
export function narrowestClass(points: readonly Judged[], nominalOhm: number): Conformity | null {
  if (points.length === 0) return null
  const judged = TOLERANCE_CLASSES.filter(
    (c) => holdsAt(c, 'wire-wound', points).length === points.length,
  ).map((c) => judge(points, nominalOhm, c, RULES.guarded, FORMER_CLASS_SOURCE))
  return judged.toSorted((a, b) => WORST.indexOf(a.verdict) - WORST.indexOf(b.verdict))[0] ?? null
}
