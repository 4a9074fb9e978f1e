import type { SettlingRule } from '../records/plan.ts'
import { tQuantile } from '../statistics/student-t.ts'
import { describeDrift } from '../statistics/window.ts'

/** Readings of one channel in order of time. `counts` is 0 where a mark leaves the reading out. */
export interface Series {
  readonly timesS: ArrayLike<number>
  readonly celsius: ArrayLike<number>
  readonly counts: ArrayLike<number>
  /** How many readings it has dropped from its front so far; none where left out. */
  readonly forgotten?: number
}

/** What one look at a channel's window says; the hold time is another matter. */
export interface WindowJudgement {
  /** All limits are met. */
  readonly within: boolean
  /** Enough of the window is filled to judge at all. */
  readonly filled: boolean
  readonly n: number
  readonly meanC: number
  readonly sdMk: number
  readonly driftMkPerMin: number
  /** Upper confidence bound of |drift|, mK/min. */
  readonly boundMkPerMin: number
  readonly windowS: number
  readonly missing: readonly ('window' | 'drift' | 'spread' | 'band')[]
  /** Mean less target, K; NaN without a target. */
  readonly offK: number
}

/** Fewest readings a window is judged by; common practice, no source. */
export const FEWEST = 5
/** Part of the window that must lie between its first and last reading. */
export const FILLED_PART = 0.6
/**
 * Judges one window: |b| + t u(b) <= drift limit, s <= spread limit, |mean - target| <= band.
 *
 * b is the least-squares drift and u(b) its uncertainty from residuals whose autocorrelation is taken into account;
 * t is Student's quantile for the rule's one-sided confidence. With `adaptive` above 1 the window grows while noise
 * alone hides the drift, up to that many times its length. Nothing before `notBeforeS` is looked at.
 */
export function judgeWindow(
  rule: SettlingRule,
  series: Series,
  nowS: number,
  targetC: number | null,
  notBeforeS = Number.NEGATIVE_INFINITY,
): WindowJudgement {
  let judged = judgeLength(rule, series, nowS, targetC, notBeforeS, rule.windowS)
  for (let factor = 1.5; factor <= rule.adaptive; factor += 0.5) {
    const noiseHidesDrift =
      judged.filled &&
      judged.missing.length === 1 &&
      judged.missing[0] === 'drift' &&
      Math.abs(judged.driftMkPerMin) <= rule.driftMkPerMin
    if (!noiseHidesDrift) break
    const longer = judgeLength(rule, series, nowS, targetC, notBeforeS, rule.windowS * factor)
    if (!longer.filled) break
    judged = longer
  }
  return judged
}

function judgeLength(
  rule: SettlingRule,
  series: Series,
  nowS: number,
  targetC: number | null,
  notBeforeS: number,
  windowS: number,
): WindowJudgement {
  const fromS = Math.max(nowS - windowS, notBeforeS)
  const { timesS, celsius, counts } = series
  let first = timesS.length
  while (first > 0 && timesS[first - 1]! >= fromS) first--
  const most = timesS.length - first
  const times = new Float64Array(most)
  const values = new Float64Array(most)
  let n = 0
  for (let i = first; i < timesS.length; i++) {
    if (timesS[i]! > nowS || counts[i] === 0 || !Number.isFinite(celsius[i]!)) continue
    times[n] = timesS[i]!
    values[n] = celsius[i]!
    n += 1
  }
  if (n === 0) return nothing(windowS)
  const s = describeDrift(times.subarray(0, n), values.subarray(0, n))
  const boundMkPerMin =
    Number.isFinite(s.driftUncertainty) && s.driftDegreesOfFreedom > 0
      ? (Math.abs(s.drift) + tQuantile(rule.confidence, s.driftDegreesOfFreedom) * s.driftUncertainty) * 60e3
      : Number.NaN
  const sdMk = s.sd * 1e3
  const offK = targetC === null ? Number.NaN : s.mean - targetC
  const filled = s.n >= FEWEST && nowS - notBeforeS >= windowS && s.durationS >= FILLED_PART * windowS
  const missing: WindowJudgement['missing'][number][] = []
  if (!filled) missing.push('window')
  if (targetC !== null && !(Math.abs(offK) <= rule.bandK)) missing.push('band')
  if (!(boundMkPerMin <= rule.driftMkPerMin)) missing.push('drift')
  if (!(sdMk <= rule.spreadMk)) missing.push('spread')
  return {
    within: missing.length === 0,
    filled,
    n: s.n,
    meanC: s.mean,
    sdMk,
    driftMkPerMin: s.drift * 60e3,
    boundMkPerMin,
    windowS,
    missing,
    offK,
  }
}

function nothing(windowS: number): WindowJudgement {
  return {
    within: false,
    filled: false,
    n: 0,
    meanC: Number.NaN,
    sdMk: Number.NaN,
    driftMkPerMin: Number.NaN,
    boundMkPerMin: Number.NaN,
    windowS,
    missing: ['window'],
    offK: Number.NaN,
  }
}
