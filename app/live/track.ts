import type { Series } from './window-judgement.ts'

/** Readings for which there is room at first; then twice as many, again and again. */
const ROOM = 256

/**
 * The recent past of one channel, in order of time, forgotten from the front. It lies outside of the collector's heap: of many
 * channels it is most of what a station keeps, and what is kept there counts nearly twice.
 */
export class Track implements Series {
  forgotten = 0
  #length = 0
  #times = new Float64Array(ROOM)
  #values = new Float64Array(ROOM)
  #counting = new Uint8Array(ROOM)
  #series: Pick<Series, 'timesS' | 'celsius' | 'counts'> | undefined
  readonly #keepS: number

  constructor(keepS: number) {
    this.#keepS = keepS
  }

  push(timeS: number, celsius: number, counts: boolean): void {
    const at = this.#length
    if (at === this.#times.length) this.#grow()
    this.#times[at] = timeS
    this.#values[at] = celsius
    this.#counting[at] = counts ? 1 : 0
    this.#length += 1
    this.#series = undefined
    // A quarter more is kept than needed, so that the columns are not moved at every reading.
    if (timeS - this.#times[0]! > 1.25 * this.#keepS) this.#cut(timeS - this.#keepS)
  }

  get length(): number {
    return this.#length
  }

  /** The columns as they stand until the next reading. */
  get timesS(): ArrayLike<number> {
    return this.#columns.timesS
  }

  get celsius(): ArrayLike<number> {
    return this.#columns.celsius
  }

  get counts(): ArrayLike<number> {
    return this.#columns.counts
  }

  /** The last `n` values that count, oldest first, with their times. */
  lastCounting(n: number): { times: number[]; values: number[] } {
    const times: number[] = []
    const values: number[] = []
    for (let i = this.#length - 1; i >= 0 && values.length < n; i--) {
      if (this.#counting[i] === 0 || !Number.isFinite(this.#values[i])) continue
      times.push(this.#times[i]!)
      values.push(this.#values[i]!)
    }
    return { times: times.reverse(), values: values.reverse() }
  }

  get #columns(): Pick<Series, 'timesS' | 'celsius' | 'counts'> {
    this.#series ??= {
      timesS: this.#times.subarray(0, this.#length),
      celsius: this.#values.subarray(0, this.#length),
      counts: this.#counting.subarray(0, this.#length),
    }
    return this.#series
  }

  #cut(fromS: number): void {
    let i = 0
    while (i < this.#length && this.#times[i]! < fromS) i++
    this.forgotten += i
    for (const column of [this.#times, this.#values, this.#counting]) column.copyWithin(0, i, this.#length)
    this.#length -= i
  }

  #grow(): void {
    const room = 2 * this.#length
    const [times, values, counting] = [new Float64Array(room), new Float64Array(room), new Uint8Array(room)]
    times.set(this.#times)
    values.set(this.#values)
    counting.set(this.#counting)
    this.#times = times
    this.#values = values
    this.#counting = counting
  }
}
