import type { Series } from './window-judgement.ts'

/** The recent past of one channel, in order of time, forgotten from the front. */
export class Track implements Series {
  readonly timesS: number[] = []
  readonly celsius: number[] = []
  readonly counts: number[] = []
  forgotten = 0
  readonly #keepS: number

  constructor(keepS: number) {
    this.#keepS = keepS
  }

  push(timeS: number, celsius: number, counts: boolean): void {
    this.timesS.push(timeS)
    this.celsius.push(celsius)
    this.counts.push(counts ? 1 : 0)
    const oldest = this.timesS[0]!
    // A quarter more is kept than needed, so that the arrays are not cut at every reading.
    if (timeS - oldest > 1.25 * this.#keepS) this.#cut(timeS - this.#keepS)
  }

  get length(): number {
    return this.timesS.length
  }

  /** The last `n` values that count, oldest first, with their times. */
  lastCounting(n: number): { times: number[]; values: number[] } {
    const times: number[] = []
    const values: number[] = []
    for (let i = this.length - 1; i >= 0 && values.length < n; i--) {
      if (this.counts[i] === 0 || !Number.isFinite(this.celsius[i]!)) continue
      times.push(this.timesS[i]!)
      values.push(this.celsius[i]!)
    }
    return { times: times.reverse(), values: values.reverse() }
  }

  #cut(fromS: number): void {
    let i = 0
    while (i < this.length && this.timesS[i]! < fromS) i++
    this.forgotten += i
    for (const list of [this.timesS, this.celsius, this.counts]) forgetFirst(list, i)
  }
}

/** In place: hours of many channels copied anew every few minutes are most of what a collector would find to do. */
function forgetFirst(list: number[], count: number): void {
  const left = list.length - count
  for (let i = 0; i < left; i++) list[i] = list[i + count]!
  list.length = left
}
