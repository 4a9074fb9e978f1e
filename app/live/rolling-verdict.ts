import { firstOrderInflation, inflationAt, lagAfter } from '../statistics/autocorrelation.ts'
import { type Look, NEAR, wholeQuantile } from './quick-verdict.ts'
import type { RollingSums } from './rolling-sums.ts'
import { FEWEST, FILLED_PART } from './window-judgement.ts'

/** Smallest and largest that a figure can be. */
type Between = readonly [low: number, high: number]

/**
 * The verdict of judgeWindow on the rule's own window from sums that moved along with it, without going through the
 * window: what is worked out is enclosed by what rounding may have left in the sums. null where a limit lies within that,
 * or within a millionth of it.
 */
export function rollingVerdict(
  { rule, targetC, notBeforeS }: Look,
  sums: RollingSums,
  nowS: number,
): boolean | null {
  const { n, lags } = sums
  if (n < FEWEST || nowS - notBeforeS < rule.windowS) return false
  const lengthS = lags.lastS - lags.firstS
  if (Math.abs(lengthS - FILLED_PART * rule.windowS) <= NEAR) return null
  if (lengthS < FILLED_PART * rule.windowS) return false

  const mean = sums.x / n
  const meanTime = sums.t / n
  const xx = sums.xx - sums.x * mean
  const spread = rule.spreadMk * 1e-3
  const offC = targetC === null ? 0 : Math.abs(sums.zeroC + mean - targetC)
  const inBand = targetC === null || atMost(around(offC, sums.errorMeanX), rule.bandK)
  const inSpread = atMost(around(xx, sums.errorXx + NEAR * xx), spread * spread * (n - 1))
  if (inBand === false || inSpread === false) return false

  const tt = sums.tt - sums.t * meanTime
  const tx = sums.tx - sums.t * mean
  const slope = tx / tt
  const errorSlope = (sums.errorTx + Math.abs(slope) * sums.errorTt) / (tt - sums.errorTt)
  const intercept = mean - slope * meanTime
  const squares = xx - slope * tx
  // An error of mean or slope moves every residual; their products move by twice that times the size of a residual.
  const moved = sums.errorMeanX + Math.abs(slope) * sums.errorMeanT + errorSlope * lengthS
  const lost =
    sums.errorProducts(intercept, slope) + moved * (2 * Math.sqrt(Math.max(0, squares) * n) + moved * n)
  if (!(squares > 1e4 * lost && tt > 1e4 * sums.errorTt)) return null

  const drift = around(Math.abs(slope) * 60e3, errorSlope * 60e3)
  lags.ask(sums.x, sums.t, intercept, slope)
  // So few degrees of freedom fail even with the normal quantile, which is the smallest there is; fewer than one count as one.
  const room = Math.max(0, rule.driftMkPerMin * (1 + NEAR) - drift[0])
  const normal = Math.max(0, wholeQuantile(rule.confidence, Number.POSITIVE_INFINITY)) * 60e3
  const tooFew = ((normal / room) ** 2 * squares * (1 - NEAR)) / tt
  const inflation = inflationOf(sums, squares, (2 * lost) / squares, n / (tooFew + 2))
  if (inflation === null) return null
  const [least, most] = inflation
  /** Drift and its uncertainty together, mK/min, with so many degrees of freedom and Student's quantile for `whole`. */
  const bound = (b: number, degrees: number, whole: number) =>
    b + wholeQuantile(rule.confidence, whole) * Math.sqrt(squares / degrees / tt) * 60e3
  const fewest = Math.max(1, n / most - 2)
  const highest = bound(drift[1], fewest, Math.max(1, Math.floor(fewest - NEAR)))
  if (highest < rule.driftMkPerMin * (1 - NEAR)) return inBand === true && inSpread === true ? true : null
  const degrees = Math.max(1, n / least - 2)
  return bound(drift[0], degrees, Math.ceil(degrees + NEAR)) > rule.driftMkPerMin * (1 + NEAR) ? false : null
}

/**
 * varianceInflation of the residuals, with coefficients that may be off by `error`; above `enough` only a lower bound.
 * null where one lies so near to zero that its sign is open.
 */
function inflationOf(
  { n, lags }: RollingSums,
  squares: number,
  error: number,
  enough: number,
): Between | null {
  let least = 1
  let most = 1
  let last = 1
  let first = 0
  for (let lag = 1, before = 0; lag < n && least <= enough; before = lag, lag = lagAfter(lag)) {
    const r = lags.next() / squares
    if (Math.abs(r) <= error) return null
    if (before === 0) first = r
    if (r < 0) break
    const part = inflationAt(n, lag, lag - before, r, last)
    const off = inflationAt(n, lag, lag - before, error, error)
    least += part - off
    most += part + off
    last = r
  }
  return [
    Math.max(least, firstOrderInflation(n, first - error, 2)),
    Math.max(most, firstOrderInflation(n, first + error, 2)),
  ]
}

const around = (figure: number, error: number): Between => [figure - error, figure + error]

/** Whether a figure is within its limit; null where rounding alone might decide. */
function atMost([low, high]: Between, limit: number): boolean | null {
  if (low > limit * (1 + NEAR) + NEAR * NEAR) return false
  return high < limit * (1 - NEAR) ? true : null
}
