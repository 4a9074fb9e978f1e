import { RollingLags } from './rolling-lags.ts'
import type { Series } from './window-judgement.ts'

/** Times the window is gone through afresh: after as many readings have left it as it holds, and these few more. */
const RENEW_AFTER = 16

/**
 * Sums over a window that moves with time, kept up as readings come and go: n, and of t and x about an origin inside the
 * window. Readings leave by subtraction, so the sums are worked out afresh once the window has passed, and `error...`
 * bound what rounding may have left in them meanwhile.
 */
export class RollingSums {
  n = 0
  t = 0
  x = 0
  tt = 0
  tx = 0
  xx = 0
  readonly lags = new RollingLags()
  /** Origin of x, degC. */
  zeroC = 0
  #zeroS = 0
  /** Places in the whole series, counting those it has forgotten: the window's first reading, and the next to come. */
  #head = 0
  #next = -1
  #removed = 0
  #lastS = Number.NEGATIVE_INFINITY
  #peakXx = 0
  #peakTt = 0

  /** The window may now begin anywhere: all is worked out afresh at the next look. */
  restart(): void {
    this.#next = -1
  }

  /** Brings the window to fromS ... the newest reading. false where the times are not in order, or end after `nowS`. */
  follow(series: Series, fromS: number, nowS: number): boolean {
    const { timesS } = series
    const forgotten = series.forgotten ?? 0
    if (this.#next < 0 || this.#head < forgotten || this.#removed > this.n + RENEW_AFTER) {
      this.#begin(series, fromS)
    }
    for (let i = this.#next - forgotten; i < timesS.length; i++) {
      if (timesS[i]! < this.#lastS || timesS[i]! > nowS) {
        this.#next = -1
        return false
      }
      this.#lastS = timesS[i]!
      this.#count(series, i, 1)
    }
    this.#next = forgotten + timesS.length
    let head = this.#head - forgotten
    while (head < timesS.length && timesS[head]! < fromS) {
      this.#count(series, head, -1)
      this.#removed += 1
      head += 1
    }
    this.#head = head + forgotten
    return true
  }

  #begin(series: Series, fromS: number): void {
    const { timesS, celsius } = series
    let first = timesS.length
    while (first > 0 && timesS[first - 1]! >= fromS) first--
    let zero = first
    while (zero < timesS.length - 1 && !(series.counts[zero] !== 0 && Number.isFinite(celsius[zero]))) zero++
    this.zeroC = Number.isFinite(celsius[zero]) ? celsius[zero]! : 0
    this.#zeroS = timesS[first] ?? 0
    this.#head = first + (series.forgotten ?? 0)
    this.#next = this.#head
    this.#lastS = Number.NEGATIVE_INFINITY
    this.#removed = 0
    this.n = this.t = this.x = this.tt = this.tx = this.xx = 0
    this.#peakXx = this.#peakTt = 0
    this.lags.clear()
  }

  #count(series: Series, place: number, sign: 1 | -1): void {
    const celsius = series.celsius[place]!
    if (series.counts[place] === 0 || !Number.isFinite(celsius)) return
    const t = series.timesS[place]! - this.#zeroS
    const x = celsius - this.zeroC
    this.n += sign
    this.t += sign * t
    this.x += sign * x
    this.tt += sign * t * t
    this.tx += sign * t * x
    this.xx += sign * x * x
    if (sign > 0) this.lags.push(t, x)
    else this.lags.shift()
    if (this.xx > this.#peakXx) this.#peakXx = this.xx
    if (this.tt > this.#peakTt) this.#peakTt = this.tt
  }

  /** Roundings that may have gone into a sum since it was begun, each relative to the largest the sum has been. */
  get #roundings(): number {
    return 16 * (2 * this.n + this.#removed + RENEW_AFTER) * Number.EPSILON
  }

  /** Bound on the error of x/n, and of t/n. */
  get errorMeanX(): number {
    return this.#roundings * Math.sqrt(this.#peakXx / this.n)
  }

  get errorMeanT(): number {
    return this.#roundings * Math.sqrt(this.#peakTt / this.n)
  }

  /** Bound on what rounding leaves in a product of the residuals x - a - b t that comes from these sums. */
  errorProducts(a: number, b: number): number {
    const size =
      Math.sqrt(this.#peakXx) + Math.abs(a) * Math.sqrt(this.n) + Math.abs(b) * Math.sqrt(this.#peakTt)
    return this.#roundings * size * size
  }

  /** Bound on the error of xx - x²/n. */
  get errorXx(): number {
    return this.#roundings * this.#peakXx
  }

  /** Bound on the error of tx - t x/n. */
  get errorTx(): number {
    return this.#roundings * Math.sqrt(this.#peakTt * this.#peakXx)
  }

  /** Bound on the error of tt - t²/n. */
  get errorTt(): number {
    return this.#roundings * this.#peakTt
  }
}
