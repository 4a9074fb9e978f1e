import type { SettlingRule } from '../records/plan.ts'
import { varianceInflation } from '../statistics/autocorrelation.ts'
import { tQuantile } from '../statistics/student-t.ts'
import type { RollingSums } from './rolling-sums.ts'
import { FEWEST, FILLED_PART, type Series } from './window-judgement.ts'

/** Rounding of the quick sums below: what lies so near a limit is judged in full. */
export const NEAR = 1e-6
const MARGIN = 1 + NEAR

/** What a window is judged by. */
export interface Look {
  readonly rule: SettlingRule
  readonly targetC: number | null
  readonly notBeforeS: number
}

/**
 * Whether a window fails for certain, whatever its autocorrelation may be: the window is not full, or its drift, spread or
 * mean alone is past the limit. `sums` are those of the window.
 */
export function failsForCertain({ rule, targetC }: Look, sums: RollingSums): boolean {
  const { n, x, t } = sums
  if (n < FEWEST) return true
  const mean = x / n
  if (targetC !== null && Math.abs(sums.zeroC + mean - targetC) > rule.bandK * MARGIN + NEAR * NEAR)
    return true
  const squares = sums.xx - x * mean - sums.errorXx
  const limit = rule.spreadMk * 1e-3 * MARGIN
  if (squares > limit * limit * (n - 1)) return true
  const timeSquares = sums.tt - (t * t) / n + sums.errorTt
  const product = Math.abs(sums.tx - t * mean) - sums.errorTx
  return product * 60e3 > rule.driftMkPerMin * MARGIN * timeSquares
}

/** Used again at every look: a look is over before the next begins. */
let times = new Float64Array(1024)
let residuals = new Float64Array(1024)

/** Student's quantile at whole degrees of freedom, or Infinity, by confidence. */
const quantiles = new Map<number, Map<number, number>>()

export function wholeQuantile(confidence: number, degrees: number): number {
  let known = quantiles.get(confidence)
  if (!known) {
    known = new Map()
    quantiles.set(confidence, known)
  }
  let quantile = known.get(degrees)
  if (quantile === undefined) {
    quantile = tQuantile(confidence, degrees)
    known.set(degrees, quantile)
  }
  return quantile
}

/**
 * The verdict of judgeWindow on the rule's own window, where it can be had for less: without its numbers, and with
 * Student's quantile enclosed between those of whole degrees of freedom. null where a figure lies so near its limit that
 * only the full judgement tells.
 */
export function quickVerdict(look: Look, series: Series, nowS: number): boolean | null {
  const { rule, targetC, notBeforeS } = look
  const { timesS, celsius, counts } = series
  const fromS = Math.max(nowS - rule.windowS, notBeforeS)
  let end = timesS.length
  while (end > 0 && timesS[end - 1]! > nowS) end--
  let first = end
  while (first > 0 && timesS[first - 1]! >= fromS) first--
  if (end - first > times.length) {
    times = new Float64Array(2 * (end - first))
    residuals = new Float64Array(2 * (end - first))
  }
  let n = 0
  let zeroC = 0
  let x = 0
  let t = 0
  for (let i = first; i < end; i++) {
    const value = celsius[i]!
    if (counts[i] === 0 || !Number.isFinite(value)) continue
    if (n === 0) zeroC = value
    const time = timesS[i]! - nowS
    times[n] = time
    residuals[n] = value - zeroC
    x += value - zeroC
    t += time
    n += 1
  }
  if (n < FEWEST || nowS - notBeforeS < rule.windowS) return false
  const lengthS = times[n - 1]! - times[0]!
  if (Math.abs(lengthS - FILLED_PART * rule.windowS) <= NEAR) return null
  if (lengthS < FILLED_PART * rule.windowS) return false
  const mean = x / n
  const meanTime = t / n
  let xx = 0
  let tt = 0
  let tx = 0
  for (let i = 0; i < n; i++) {
    const d = residuals[i]! - mean
    const time = times[i]! - meanTime
    xx += d * d
    tt += time * time
    tx += time * d
  }
  const inBand = targetC === null ? true : atMost(Math.abs(zeroC + mean - targetC), rule.bandK)
  const inSpread = atMost(Math.sqrt(xx / (n - 1)) * 1e3, rule.spreadMk)
  if (inBand === false || inSpread === false) return false
  const drift = tx / tt
  let squares = 0
  for (let i = 0; i < n; i++) {
    const e = residuals[i]! - mean - drift * (times[i]! - meanTime)
    residuals[i] = e
    squares += e * e
  }
  const b = Math.abs(drift) * 60e3
  // So few degrees of freedom fail even with the normal quantile, which is the smallest there is.
  const room = Math.max(0, rule.driftMkPerMin - b) * MARGIN
  const normal = Math.max(0, wholeQuantile(rule.confidence, Number.POSITIVE_INFINITY)) * 60e3
  const tooFew = ((normal / room) ** 2 * squares) / tt
  const enough = tooFew > 1 ? n / (tooFew + 2) : Number.POSITIVE_INFINITY
  const inflation = varianceInflation(residuals.subarray(0, n), 2, undefined, enough)
  const degrees = Math.max(1, n / inflation - 2)
  const u = Math.sqrt(squares / degrees / tt) * 60e3
  const widest = wholeQuantile(rule.confidence, Math.max(1, Math.floor(degrees - NEAR)))
  if (atMost(b + widest * u, rule.driftMkPerMin) === true) {
    return inBand === true && inSpread === true ? true : null
  }
  const narrowest = wholeQuantile(rule.confidence, Math.ceil(degrees + NEAR))
  return atMost(b + narrowest * u, rule.driftMkPerMin) === false ? false : null
}

/** Whether a figure is within its limit; null where rounding alone might decide. */
function atMost(figure: number, limit: number): boolean | null {
  if (figure > limit * MARGIN + NEAR * NEAR) return false
  return figure < limit * (1 - NEAR) ? true : null
}
