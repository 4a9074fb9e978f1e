import { lagAfter } from '../statistics/autocorrelation.ts'

/** Lags looked at one after the other, as varianceInflation takes them; more are added as they are asked for. */
const LAGS: number[] = []
/** Lags kept up beyond the last one asked for at a look. */
const SPARE = 4

function lagAt(place: number): number {
  while (LAGS.length <= place) LAGS.push(LAGS.length === 0 ? 1 : lagAfter(LAGS.at(-1)!))
  return LAGS[place]!
}

/**
 * Sums of products of neighbours in a window that moves with time: of values and times that lie k readings apart, for the
 * lags that somebody asks for. With them the products of the residuals from any straight line follow without going
 * through the window. Values and times are counted from an origin inside the window.
 */
export class RollingLags {
  #times = new Float64Array(256)
  #values = new Float64Array(256)
  /** Places of the window in the two arrays. */
  #first = 0
  #end = 0
  /** Places the sums speak of, and for how many lags. */
  #from = 0
  #to = 0
  #kept = 0
  #xx = new Float64Array(32)
  #xt = new Float64Array(32)
  #tt = new Float64Array(32)
  /** Lags asked for at this look; the lag up to which the window's ends are taken off the sums below. */
  #asked = 0
  #edge = 0
  #twiceX = 0
  #twiceT = 0
  #a = 0
  #b = 0

  get length(): number {
    return this.#end - this.#first
  }

  /** Time of the window's first and last reading. */
  get firstS(): number {
    return this.#times[this.#first]!
  }

  get lastS(): number {
    return this.#times[this.#end - 1]!
  }

  clear(): void {
    this.#first = this.#end = this.#from = this.#to = 0
    this.#kept = 0
  }

  push(t: number, x: number): void {
    if (this.#end === this.#times.length) this.#makeRoom()
    this.#times[this.#end] = t
    this.#values[this.#end] = x
    this.#end += 1
  }

  shift(): void {
    this.#first += 1
  }

  /** What has left the window is still needed to take it out of the sums. */
  #makeRoom(): void {
    if (this.#first - this.#from > this.length) this.#kept = 0
    const begin = this.#kept > 0 ? this.#from : this.#first
    const length = this.#end - begin
    let times = this.#times
    let values = this.#values
    if (2 * length > times.length) {
      times = new Float64Array(2 * times.length)
      values = new Float64Array(2 * values.length)
    }
    times.set(this.#times.subarray(begin, this.#end))
    values.set(this.#values.subarray(begin, this.#end))
    this.#times = times
    this.#values = values
    this.#first -= begin
    this.#end = length
    this.#from = Math.max(0, this.#from - begin)
    this.#to = Math.max(0, this.#to - begin)
  }

  /**
   * Begins to ask for the products of the residuals x - a - b t. `x` and `t` are the sums of the window's values and
   * times.
   */
  ask(x: number, t: number, a: number, b: number): void {
    this.#followWindow()
    this.#asked = 0
    this.#edge = 0
    this.#twiceX = 2 * x
    this.#twiceT = 2 * t
    this.#a = a
    this.#b = b
  }

  /** Sum over the window of e_i e_(i+k) for the next lag k of those varianceInflation takes, from 1 on. */
  next(): number {
    const place = this.#asked++
    const lag = lagAt(place)
    if (place >= this.#kept) this.#sumAfresh(place, lag)
    const times = this.#times
    const values = this.#values
    // What the first factors leave out at the end, and the second ones at the beginning.
    for (; this.#edge < lag; this.#edge++) {
      const left = this.#first + this.#edge
      const right = this.#end - 1 - this.#edge
      this.#twiceX -= values[left]! + values[right]!
      this.#twiceT -= times[left]! + times[right]!
    }
    const a = this.#a
    const b = this.#b
    return (
      this.#xx[place]! -
      a * this.#twiceX -
      b * this.#xt[place]! +
      a * (a * (this.length - lag) + b * this.#twiceT) +
      b * b * this.#tt[place]!
    )
  }

  #followWindow(): void {
    const first = this.#first
    const end = this.#end
    const moved = Math.max(first - this.#from, end - this.#to)
    if (moved > this.length / 4) this.#kept = 0
    else this.#kept = Math.min(this.#kept, this.#asked + SPARE)
    const times = this.#times
    const values = this.#values
    const { min, max } = Math
    for (let place = 0; place < this.#kept; place++) {
      const lag = lagAt(place)
      let xx = this.#xx[place]!
      let xt = this.#xt[place]!
      let tt = this.#tt[place]!
      for (let i = max(this.#to, this.#from + lag); i < end; i++) {
        const x = values[i]!
        const t = times[i]!
        const x0 = values[i - lag]!
        const t0 = times[i - lag]!
        xx += x * x0
        xt += x * t0 + x0 * t
        tt += t * t0
      }
      for (let i = this.#from, last = min(first, end - lag); i < last; i++) {
        const x = values[i]!
        const t = times[i]!
        const x1 = values[i + lag]!
        const t1 = times[i + lag]!
        xx -= x * x1
        xt -= x * t1 + x1 * t
        tt -= t * t1
      }
      this.#xx[place] = xx
      this.#xt[place] = xt
      this.#tt[place] = tt
    }
    this.#from = first
    this.#to = end
  }

  #sumAfresh(place: number, lag: number): void {
    if (place >= this.#xx.length) {
      this.#xx = twice(this.#xx)
      this.#xt = twice(this.#xt)
      this.#tt = twice(this.#tt)
    }
    const times = this.#times
    const values = this.#values
    let xx = 0
    let xt = 0
    let tt = 0
    for (let i = this.#first + lag; i < this.#end; i++) {
      const x = values[i]!
      const t = times[i]!
      const x0 = values[i - lag]!
      const t0 = times[i - lag]!
      xx += x * x0
      xt += x * t0 + x0 * t
      tt += t * t0
    }
    this.#xx[place] = xx
    this.#xt[place] = xt
    this.#tt[place] = tt
    this.#kept = place + 1
  }
}

function twice(column: Float64Array<ArrayBuffer>): Float64Array<ArrayBuffer> {
  const larger = new Float64Array(2 * column.length)
  larger.set(column)
  return larger
}
