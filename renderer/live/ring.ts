import { Cadence } from './cadence.ts'
import type { Quantities } from './quantity.ts'

const FIRST_CAPACITY = 512
/** At ten readings a second, 27 min; older stretches are asked from the record. */
export const RING_CAPACITY = 16_384

/** The newest readings of one channel as typed arrays. Grows to its capacity and then forgets the oldest. */
export class ReadingRing {
  time = new Float64Array(FIRST_CAPACITY)
  raw = new Float64Array(FIRST_CAPACITY)
  resistance = new Float64Array(FIRST_CAPACITY)
  temperature = new Float64Array(FIRST_CAPACITY)
  marks = new Uint32Array(FIRST_CAPACITY)
  length = 0
  /** How many ever came; what a view has seen is counted in these. */
  total = 0
  #head = 0
  readonly #cadence = new Cadence()

  push(time: number, raw: number, resistance: number, temperature: number, marks: number): void {
    if (this.length === this.time.length && this.length < RING_CAPACITY) this.#grow()
    const at = this.#head
    this.#cadence.step(time)
    this.time[at] = time
    this.raw[at] = raw
    this.resistance[at] = resistance
    this.temperature[at] = temperature
    this.marks[at] = marks
    this.#head = (at + 1) % this.time.length
    if (this.length < this.time.length) this.length++
    this.total++
  }

  /** Place in the arrays of the i-th oldest reading. */
  slot(i: number): number {
    return (this.#head - this.length + i + this.time.length * 2) % this.time.length
  }

  get oldestTime(): number {
    return this.length === 0 ? Number.NaN : this.time[this.slot(0)]!
  }
  get newestTime(): number {
    return this.length === 0 ? Number.NaN : this.time[this.slot(this.length - 1)]!
  }

  /** The newest value of a quantity, NaN before the first. */
  newest(quantity: Quantities): number {
    return this.length === 0 ? Number.NaN : this[quantity][this.slot(this.length - 1)]!
  }

  /** Index (0: oldest) of the first reading not before `time`. */
  from(time: number): number {
    let low = 0
    let high = this.length
    while (low < high) {
      const middle = (low + high) >> 1
      if (this.time[this.slot(middle)]! < time) low = middle + 1
      else high = middle
    }
    return low
  }

  /** Value at a moment, straight between its neighbours; NaN in a gap, before the oldest, and long after the newest. */
  valueAt(quantity: Quantities, time: number): number {
    const i = this.from(time)
    if (i >= this.length) return time - this.newestTime <= this.reach ? this.newest(quantity) : Number.NaN
    const b = this.slot(i)
    if (this.time[b] === time) return this[quantity][b]!
    if (i === 0) return Number.NaN
    const a = this.slot(i - 1)
    const step = this.time[b]! - this.time[a]!
    if (step > this.reach) return Number.NaN
    const part = (time - this.time[a]!) / step
    return this[quantity][a]! + part * (this[quantity][b]! - this[quantity][a]!)
  }

  /** Time for which a reading stands, s. */
  get reach(): number {
    return this.#cadence.reach
  }

  /** Called only when the arrays are exactly full and have never wrapped, so that order is plain. */
  #grow(): void {
    const size = Math.min(RING_CAPACITY, this.time.length * 2)
    for (const name of ['time', 'raw', 'resistance', 'temperature'] as const) {
      const wider = new Float64Array(size)
      wider.set(this[name])
      this[name] = wider
    }
    const marks = new Uint32Array(size)
    marks.set(this.marks)
    this.marks = marks
    this.#head = this.length
  }
}
