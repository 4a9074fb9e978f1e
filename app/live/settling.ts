import { first, last } from '../base/lists.ts'
import { duration } from '../base/times.ts'
import type { SettlingView, WaterState } from '../contract/views.ts'
import type { SettlingRule } from '../records/plan.ts'
import { failsForCertain, type Look, quickVerdict } from './quick-verdict.ts'
import { RollingSums } from './rolling-sums.ts'
import { rollingVerdict } from './rolling-verdict.ts'
import { FEWEST, judgeWindow, type Series, type WindowJudgement } from './window-judgement.ts'
import { figure } from './words.ts'

/** Times in a window at which the drift is noted to see it die down; windows overlap, so more of them say little more. */
const DECAY_LOOKS = 20
/** How far back the drift's decay is followed, in windows, and how old its last point may be. */
const DECAY_WINDOWS = 2
const DECAY_FRESH = 1 / 4

/** How much of the past a tracker must be able to look at, s. */
export function pastNeededS(rule: SettlingRule): number {
  return rule.windowS * rule.adaptive + Math.max((DECAY_WINDOWS + DECAY_FRESH) * rule.windowS, rule.holdS)
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
  #aimed: Look
  #heldSinceS: number | null = null
  #last: WindowJudgement | null = null
  #lastAtS = Number.NEGATIVE_INFINITY
  readonly #sums = new RollingSums()
  /** A look whose numbers nobody has asked for yet, and the readings it was at. */
  #isDue = false
  #series: Series | null = null
  #decayAtS = Number.NEGATIVE_INFINITY
  /** Times at which the drift is to be noted, once somebody asks how fast it dies down. */
  #decayDue: number[] = []
  /** ln |drift| at times, to see it die down. */
  #decay: { t: number; ln: number }[] = []

  constructor(rule: SettlingRule) {
    this.#rule = rule
    this.#aimed = { rule, targetC: null, notBeforeS: this.#notBeforeS }
  }

  /** A new target: the window begins afresh at `atS`. */
  aim(targetC: number | null, atS: number): void {
    this.#targetC = targetC
    this.#notBeforeS = atS
    this.#aimed = { rule: this.#rule, targetC, notBeforeS: atS }
    this.#heldSinceS = null
    this.#last = null
    this.#lastAtS = Number.NEGATIVE_INFINITY
    this.#isDue = false
    this.#sums.restart()
    this.#decayAtS = Number.NEGATIVE_INFINITY
    this.#decayDue = []
    this.#decay = []
  }

  get judgement(): WindowJudgement | null {
    return this.#judgeDue()
  }

  /** The limits are met, and have been for the hold time, at every look. */
  isSteady(nowS: number): boolean {
    return this.#heldSinceS !== null && nowS - this.#heldSinceS >= this.#rule.holdS
  }

  /**
   * Looks again; at most once a second, or ten times in a short window. Every look counts for the hold time; numbers are
   * worked out only when somebody asks for them.
   */
  look(series: Series, nowS: number): void {
    const { windowS } = this.#rule
    if (nowS - this.#lastAtS < Math.min(1, windowS / 100)) return
    this.#lastAtS = nowS
    this.#series = series
    this.#isDue = true
    if (nowS - this.#decayAtS >= windowS / DECAY_LOOKS) this.#noteDecay(nowS)
    if (this.#isWithin(series, nowS)) this.#heldSinceS ??= nowS
    else this.#heldSinceS = null
  }

  /** By the cheapest that tells it for certain. */
  #isWithin(series: Series, nowS: number): boolean {
    const rule = this.#rule
    if (nowS - this.#notBeforeS < rule.windowS) return false
    const fromS = Math.max(nowS - rule.windowS, this.#notBeforeS)
    let verdict: boolean | null = null
    if (this.#sums.follow(series, fromS, nowS)) {
      if (failsForCertain(this.#aimed, this.#sums)) return false
      verdict = rollingVerdict(this.#aimed, this.#sums, nowS)
    }
    verdict ??= quickVerdict(this.#aimed, series, nowS)
    if (verdict === true || (verdict === false && rule.adaptive === 1)) return verdict
    return judgeWindow(rule, series, nowS, this.#targetC, this.#notBeforeS).within
  }

  /** The last look's numbers, worked out when they are wanted. */
  #judgeDue(): WindowJudgement | null {
    if (this.#isDue) {
      this.#isDue = false
      this.#last = judgeWindow(this.#rule, this.#series!, this.#lastAtS, this.#targetC, this.#notBeforeS)
    }
    return this.#last
  }

  #noteDecay(nowS: number): void {
    this.#decayAtS = nowS
    this.#decayDue.push(nowS)
    const keepFrom = nowS - (DECAY_WINDOWS + DECAY_FRESH) * this.#rule.windowS
    while (first(this.#decayDue) < keepFrom) this.#decayDue.shift()
  }

  /** Only a drift that stands out of its own noise tells how fast it dies down. */
  #followDecay(): void {
    for (const t of this.#decayDue) {
      const { n, driftMkPerMin, boundMkPerMin } = judgeWindow(
        this.#rule,
        this.#series!,
        t,
        this.#targetC,
        this.#notBeforeS,
      )
      const drift = Math.abs(driftMkPerMin)
      if (n < FEWEST || !(drift > boundMkPerMin - drift)) continue
      this.#decay.push({ t, ln: Math.log(drift) })
      const keepFrom = t - DECAY_WINDOWS * this.#rule.windowS
      while (this.#decay.length > 0 && first(this.#decay).t < keepFrom) this.#decay.shift()
    }
    this.#decayDue = []
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
      const off = `${figure(Math.abs(judged.offK))} K ${side} the setpoint`
      return `The mean of ${duration(rule.windowS)} is ${off}, limit ${figure(rule.bandK)}.`
    }
    if (judged.missing.includes('window')) return 'Filling the window.'
    if (judged.missing.includes('drift')) {
      const drift = Math.abs(judged.driftMkPerMin)
      if (drift > rule.driftMkPerMin) {
        return `Drift ${figure(drift)} mK/min, limit ${figure(rule.driftMkPerMin)}.`
      }
      return `Drift not yet known well enough: bound ${figure(judged.boundMkPerMin)}, limit ${figure(rule.driftMkPerMin)} mK/min.`
    }
    return `Standard deviation ${figure(judged.sdMk)} mK, limit ${figure(rule.spreadMk)}.`
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
    this.#followDecay()
    const points = this.#decay
    if (points.length < 4 || nowS - last(points).t > this.#rule.windowS * DECAY_FRESH) return null
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

const WORST_FIRST: readonly WaterState[] = ['crossed', 'broken', 'choppy', 'rippled', 'flat', 'over']

/** The group stands as its worst channel stands; among equals the one that will take longest speaks. */
export function groupSettling(
  members: readonly { readonly name: string; readonly view: SettlingView }[],
): SettlingView {
  if (members.length === 0) return plain('choppy', 'No channel has to settle.')
  let worst = first(members)
  for (const member of members.slice(1)) {
    const a = WORST_FIRST.indexOf(member.view.state)
    const b = WORST_FIRST.indexOf(worst.view.state)
    const longer = (member.view.remainingS ?? Infinity) > (worst.view.remainingS ?? Infinity)
    if (a < b || (a === b && longer)) worst = member
  }
  if (worst.view.state === 'flat') return worst.view
  return { ...worst.view, words: `${worst.name}: ${worst.view.words}` }
}
