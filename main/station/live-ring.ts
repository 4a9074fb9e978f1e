import { type Columns, packColumns } from '../../app/contract/columns.ts'
import type { Converted } from '../../app/live/chain.ts'
import { markBits } from '../../app/records/mark.ts'
import type { Reading } from '../../app/records/reading.ts'

/** The newest readings, converted, for windows that follow; older ones come from the file. */
export class LiveRing {
  readonly channels: readonly string[]
  readonly size: number
  readonly #seq: Uint32Array
  readonly #channel: Uint32Array
  readonly #utcS: Float64Array
  readonly #monoS: Float64Array
  readonly #raw: Float64Array
  readonly #resistance: Float64Array
  readonly #temperature: Float64Array
  readonly #marks: Uint32Array
  readonly #index = new Map<string, number>()
  #count = 0

  constructor(channels: readonly string[], size = 65_536) {
    this.channels = channels
    this.size = size
    this.#seq = new Uint32Array(size)
    this.#channel = new Uint32Array(size)
    this.#utcS = new Float64Array(size)
    this.#monoS = new Float64Array(size)
    this.#raw = new Float64Array(size)
    this.#resistance = new Float64Array(size)
    this.#temperature = new Float64Array(size)
    this.#marks = new Uint32Array(size)
    for (const [i, channel] of channels.entries()) this.#index.set(channel, i)
  }

  push(reading: Reading, converted: Converted): void {
    const channel = this.#index.get(reading.channel)
    if (channel === undefined) return
    const at = this.#count % this.size
    this.#seq[at] = reading.seq
    this.#channel[at] = channel
    this.#utcS[at] = reading.utcUs / 1e6
    this.#monoS[at] = reading.monoUs / 1e6
    this.#raw[at] = reading.value === null ? Number.NaN : Number(reading.value)
    this.#resistance[at] = converted.signal
    this.#temperature[at] = converted.celsius
    this.#marks[at] = markBits(reading.marks)
    this.#count += 1
  }

  /** seq of the newest reading here; 0 for none. */
  get last(): number {
    return this.#count === 0 ? 0 : this.#seq[(this.#count - 1) % this.size]!
  }

  /** seq of the oldest reading here; Infinity for none. */
  get first(): number {
    return this.#count === 0 ? Number.POSITIVE_INFINITY : this.#seq[this.#oldest % this.size]!
  }

  get #oldest(): number {
    return Math.max(0, this.#count - this.size)
  }

  /**
   * Readings after seq `after`, the oldest first, at most `most`; with after 0 those of the last `backlogS` seconds, the
   * newest `most` of them.
   */
  after(after: number, backlogS: number, most: number, session: string): Uint8Array<ArrayBuffer> {
    let from = this.#oldest
    let to = this.#count
    if (after > 0) {
      from = this.#firstWhere((at) => this.#seq[at]! > after)
      to = Math.min(to, from + most)
    } else if (this.#count > 0) {
      const newest = this.#monoS[(this.#count - 1) % this.size]!
      from = this.#firstWhere((at) => this.#monoS[at]! >= newest - backlogS)
      from = Math.max(from, to - most)
    }
    const columns: Columns = {
      seq: this.#part(this.#seq, from, to),
      channel: this.#part(this.#channel, from, to),
      utcS: this.#part(this.#utcS, from, to),
      monoS: this.#part(this.#monoS, from, to),
      raw: this.#part(this.#raw, from, to),
      resistance: this.#part(this.#resistance, from, to),
      temperature: this.#part(this.#temperature, from, to),
      marks: this.#part(this.#marks, from, to),
    }
    const last = to > from ? this.#seq[(to - 1) % this.size]! : after
    return packColumns(columns, { session, channels: [...this.channels], last })
  }

  /** First place, in order of arrival, where a condition that stays true holds. */
  #firstWhere(holds: (at: number) => boolean): number {
    let low = this.#oldest
    let high = this.#count
    while (low < high) {
      const middle = (low + high) >> 1
      if (holds(middle % this.size)) high = middle
      else low = middle + 1
    }
    return low
  }

  #part<T extends Uint32Array | Float64Array>(all: T, from: number, to: number): T {
    const a = from % this.size
    const n = to - from
    if (a + n <= this.size) return all.slice(a, a + n) as T
    const out = new (all.constructor as { new (n: number): T })(n)
    const head = this.size - a
    out.set(all.subarray(a) as never, 0)
    out.set(all.subarray(0, n - head) as never, head)
    return out
  }
}
