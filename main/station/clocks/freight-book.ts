import type { Freight, FreightEnd } from '../../../app/base/clock.ts'

/** What has not come by then never will, real ms: its line was broken on the way, or nobody reads at its end. */
const LOST_MS = 2000

/** What is on its way along each line, counted in bytes at both ends. It travels in real time. */
export class FreightBook implements Freight {
  readonly #lines = new Map<string, Record<FreightEnd, number>>()
  readonly #moved: () => void
  readonly #lostMs: number
  #movedMs = 0

  /** `moved` is called whenever something came or is no longer awaited. */
  constructor(moved: () => void, lostMs = LOST_MS) {
    this.#moved = moved
    this.#lostMs = lostMs
  }

  join(line: string): void {
    this.#lines.set(line, { instrument: 0, station: 0 })
  }

  leave(line: string): void {
    if (this.#lines.delete(line)) this.#moved()
  }

  left(line: string, toward: FreightEnd, count: number): void {
    const underway = this.#lines.get(line)
    if (underway === undefined) return
    underway[toward] += count
    this.#movedMs = performance.now()
  }

  came(line: string, toward: FreightEnd, count: number): void {
    const underway = this.#lines.get(line)
    if (underway === undefined) return
    underway[toward] = Math.max(0, underway[toward] - count)
    this.#movedMs = performance.now()
    this.#moved()
  }

  /** How long to wait for what is on its way, real ms; 0 when nothing is, or when it is given up. */
  waitMs(): number {
    let some = false
    for (const { instrument, station } of this.#lines.values()) some ||= instrument > 0 || station > 0
    if (!some) return 0
    const left = this.#lostMs - (performance.now() - this.#movedMs)
    if (left > 0) return left
    for (const underway of this.#lines.values()) underway.instrument = underway.station = 0
    return 0
  }
}
