import type { SettlingView, WaterState } from '../contract/views.ts'
import type { SettlingRule } from '../records/plan.ts'
import { tQuantile } from '../statistics/student-t.ts'
import { describeDrift } from '../statistics/window.ts'
import { duration, figure } from './words.ts'

/** Readings of one channel in order of time. `counts` is 0 where a mark leaves the reading out. */
export interface Series {
  readonly timesS: ArrayLike<number>
  readonly celsius: ArrayLike<number>
  readonly counts: ArrayLike<number>
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
const FEWEST = 5
/** Part of the window that must lie between its first and last reading. */
const FILLED_PART = 0.6
/** Times in a window at which the drift is noted to see it die down; windows overlap, so more of them say little more. */
const DECAY_LOOKS = 20

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

/** Rounding of the quick sums below: what lies so near a limit is judged in full. */
const MARGIN = 1 + 1e-6

/**
 * Whether a window fails for certain, whatever its autocorrelation may be: the window is not full, or its drift, spread or
 * mean alone is past the limit. One pass over the readings, where the full judgement takes one for each lag.
 */
function failsForCertain(
  rule: SettlingRule,
  series: Series,
  nowS: number,
  targetC: number | null,
  notBeforeS: number,
): boolean {
  if (nowS - notBeforeS < rule.windowS) return true
  const { timesS, celsius, counts } = series
  const fromS = Math.max(nowS - rule.windowS, notBeforeS)
  let n = 0
  let zero = 0
  let x = 0
  let xx = 0
  let t = 0
  let tt = 0
  let tx = 0
  for (let i = timesS.length - 1; i >= 0; i--) {
    const time = timesS[i]! - nowS
    if (timesS[i]! < fromS) break
    const value = celsius[i]!
    if (time > 0 || counts[i] === 0 || !Number.isFinite(value)) continue
    if (n === 0) zero = value
    const d = value - zero
    n += 1
    x += d
    xx += d * d
    t += time
    tt += time * time
    tx += time * d
  }
  if (n < FEWEST) return true
  const mean = x / n
  if (targetC !== null && Math.abs(zero + mean - targetC) > rule.bandK * MARGIN) return true
  const squares = xx - x * mean
  if (Math.sqrt(Math.max(0, squares) / (n - 1)) * 1e3 > rule.spreadMk * MARGIN) return true
  const drift = (tx - t * mean) / (tt - (t * t) / n)
  return Math.abs(drift) * 60e3 > rule.driftMkPerMin * MARGIN
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

/** How a channel stands apart from its numbers. */
export type Health = 'good' | 'silent' | 'fault'

/**
 * Follows one channel through time: since when the limits have held, and how fast the drift dies down.
 * Fed from stored readings only, so that a restart that feeds them again arrives at the same answer.
 */
export class SettlingTracker {
  readonly #rule: SettlingRule
  #targetC: number | null = null
  #notBeforeS = Number.NEGATIVE_INFINITY
  #heldSinceS: number | null = null
  #last: WindowJudgement | null = null
  #lastAtS = Number.NEGATIVE_INFINITY
  /** A look whose numbers nobody has asked for yet. */
  #due: { readonly series: Series; readonly nowS: number } | null = null
  #decayAtS = Number.NEGATIVE_INFINITY
  /** ln |drift| at times, to see it die down. */
  #decay: { t: number; ln: number }[] = []

  constructor(rule: SettlingRule) {
    this.#rule = rule
  }

  /** A new target: the window begins afresh at `atS`. */
  aim(targetC: number | null, atS: number): void {
    this.#targetC = targetC
    this.#notBeforeS = atS
    this.#heldSinceS = null
    this.#last = null
    this.#lastAtS = Number.NEGATIVE_INFINITY
    this.#due = null
    this.#decayAtS = Number.NEGATIVE_INFINITY
    this.#decay = []
  }

  get judgement(): WindowJudgement | null {
    return this.#judgeDue()
  }

  /** The limits are met, and have been for the hold time. */
  isSteady(nowS: number): boolean {
    return this.#heldSinceS !== null && nowS - this.#heldSinceS >= this.#rule.holdS
  }

  /**
   * Looks again; at most once a second, or ten times in a short window. Where a look fails for certain, its numbers are
   * worked out only when somebody asks for them, or to see the drift die down.
   */
  look(series: Series, nowS: number): void {
    const rule = this.#rule
    if (nowS - this.#lastAtS < Math.min(1, rule.windowS / 100)) return
    this.#lastAtS = nowS
    this.#due = { series, nowS }
    if (failsForCertain(rule, series, nowS, this.#targetC, this.#notBeforeS)) {
      this.#heldSinceS = null
      if (nowS - this.#decayAtS < rule.windowS / DECAY_LOOKS) return
      this.#judgeDue()
      this.#followDecay(nowS)
      return
    }
    const judged = this.#judgeDue()!
    if (!judged.within) this.#heldSinceS = null
    else this.#heldSinceS ??= nowS
    if (nowS - this.#decayAtS >= rule.windowS / DECAY_LOOKS) this.#followDecay(nowS)
  }

  /** The last look's numbers, worked out when they are wanted. */
  #judgeDue(): WindowJudgement | null {
    if (this.#due) {
      const { series, nowS } = this.#due
      this.#due = null
      this.#last = judgeWindow(this.#rule, series, nowS, this.#targetC, this.#notBeforeS)
    }
    return this.#last
  }

  /** Only a drift that stands out of its own noise tells how fast it dies down. */
  #followDecay(nowS: number): void {
    this.#decayAtS = nowS
    const { n, driftMkPerMin, boundMkPerMin } = this.#last!
    const drift = Math.abs(driftMkPerMin)
    if (n < FEWEST || !(drift > boundMkPerMin - drift)) return
    this.#decay.push({ t: nowS, ln: Math.log(drift) })
    const keepFrom = nowS - 2 * this.#rule.windowS
    while (this.#decay.length > 0 && this.#decay[0]!.t < keepFrom) this.#decay.shift()
  }

  view(nowS: number, health: Health, lastReadingS: number | null): SettlingView {
    if (health === 'fault') return plain('crossed', 'The last reading is faulty.')
    if (health === 'silent') {
      const words =
        lastReadingS === null ? 'No reading yet.' : `No reading for ${duration(nowS - lastReadingS)}.`
      return plain('broken', words)
    }
    const judged = this.#judgeDue()
    if (!judged || judged.n === 0) return plain('choppy', 'No reading in the window yet.')
    if (judged.within && this.#heldSinceS !== null) return this.#steady(nowS)
    const remainingS = this.#remaining(judged, nowS)
    const about = remainingS === null ? '' : ` About ${duration(remainingS)} more.`
    return { state: 'choppy', words: `${this.#missingWords(judged)}${about}`, remainingS, held: 0 }
  }

  #steady(nowS: number): SettlingView {
    const heldS = nowS - this.#heldSinceS!
    const { holdS } = this.#rule
    if (heldS >= holdS) {
      return { state: 'flat', words: `Settled for ${duration(heldS - holdS)}.`, remainingS: 0, held: 1 }
    }
    const remainingS = holdS - heldS
    return {
      state: 'rippled',
      words: `Within limits. Hold time has ${duration(remainingS)} to run.`,
      remainingS,
      held: holdS > 0 ? heldS / holdS : 1,
    }
  }

  #missingWords(judged: WindowJudgement): string {
    const rule = this.#rule
    if (judged.missing.includes('band')) {
      const side = judged.offK > 0 ? 'above' : 'below'
      return `${figure(Math.abs(judged.offK))} K ${side} the setpoint, limit ${figure(rule.bandK)}.`
    }
    if (judged.missing.includes('window')) return 'Filling the window.'
    if (judged.missing.includes('drift')) {
      const drift = Math.abs(judged.driftMkPerMin)
      if (drift > rule.driftMkPerMin) {
        return `Drift ${figure(drift)} mK/min, limit ${figure(rule.driftMkPerMin)}.`
      }
      return `Drift may be as much as ${figure(judged.boundMkPerMin)} mK/min, limit ${figure(rule.driftMkPerMin)}.`
    }
    return `Spread ${figure(judged.sdMk)} mK, limit ${figure(rule.spreadMk)}.`
  }

  /** Seconds until the limits should be met and held: window still to fill, drift dying down, hold time. */
  #remaining(judged: WindowJudgement, nowS: number): number | null {
    const rule = this.#rule
    const fill = Math.max(0, this.#notBeforeS + rule.windowS - nowS)
    const drift = Math.abs(judged.driftMkPerMin)
    if (judged.missing.length === 1 && judged.missing[0] === 'window') return fill + rule.holdS
    const rate = this.#decayPerS(nowS)
    if (rate === null) return null
    const goal = 0.7 * rule.driftMkPerMin
    const untilDrift = drift > goal ? Math.log(drift / goal) / rate : 0
    const off = Math.abs(judged.offK)
    const untilBand = off > rule.bandK ? Math.log(off / rule.bandK) / rate : 0
    const untilSpread = judged.sdMk > rule.spreadMk ? Math.log(judged.sdMk / rule.spreadMk) / rate : 0
    const more = Math.max(fill, untilDrift, untilBand, untilSpread) + rule.holdS
    return Number.isFinite(more) && more < 2 * 86_400 ? more : null
  }

  /** 1/tau of the drift, per second, by least squares on its logarithm; null while it does not fall. */
  #decayPerS(nowS: number): number | null {
    const points = this.#decay
    if (points.length < 4 || nowS - points.at(-1)!.t > this.#rule.windowS / 4) return null
    let t = 0
    let y = 0
    for (const p of points) {
      t += p.t / points.length
      y += p.ln / points.length
    }
    let sxy = 0
    let sxx = 0
    for (const p of points) {
      sxy += (p.t - t) * (p.ln - y)
      sxx += (p.t - t) ** 2
    }
    const slope = sxx > 0 ? sxy / sxx : 0
    return slope < -1e-6 ? -slope : null
  }
}

function plain(state: WaterState, words: string): SettlingView {
  return { state, words, remainingS: null, held: 0 }
}

const WORST_FIRST: readonly WaterState[] = ['crossed', 'broken', 'choppy', 'rippled', 'flat']

/** The group stands as its worst channel stands; among equals the one that will take longest speaks. */
export function groupSettling(
  members: readonly { readonly name: string; readonly view: SettlingView }[],
): SettlingView {
  if (members.length === 0) return plain('choppy', 'No channel has to settle.')
  let worst = members[0]!
  for (const member of members.slice(1)) {
    const a = WORST_FIRST.indexOf(member.view.state)
    const b = WORST_FIRST.indexOf(worst.view.state)
    const longer = (member.view.remainingS ?? Infinity) > (worst.view.remainingS ?? Infinity)
    if (a < b || (a === b && longer)) worst = member
  }
  if (worst.view.state === 'flat') return worst.view
  return { ...worst.view, words: `${worst.name}: ${worst.view.words}` }
}
