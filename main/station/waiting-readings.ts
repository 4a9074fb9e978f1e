import { at, last } from '../../app/base/lists.ts'
import { withMarks } from '../../app/records/mark.ts'
import type { NewReading } from '../../app/records/reading.ts'

/** Most readings kept waiting while the disk refuses: an hour of a busy bench, 30 MB. */
export const MOST_WAITING = 100_000

/** What was dropped: how many, of when, of which channels. */
export interface Dropped {
  count: number
  fromUtcUs: number
  toUtcUs: number
  readonly channels: Set<string>
}

/** Readings that wait for their commit, the oldest first, and what was dropped of them when there were too many. */
export class WaitingReadings {
  #readings: NewReading[] = []
  #dropped: Dropped | undefined

  get count(): number {
    return this.#readings.length
  }

  add(reading: NewReading): void {
    if (this.#readings.length >= MOST_WAITING) this.#drop()
    this.#readings.push(reading)
  }

  /** Takes the oldest out. */
  take(most: number): readonly NewReading[] {
    return this.#readings.splice(0, most)
  }

  /** They could not be stored: they wait again, before all others. */
  takeBack(readings: readonly NewReading[]): void {
    this.#readings = [...readings, ...this.#readings]
  }

  /** What was dropped since last asked. */
  takeDropped(): Dropped | undefined {
    const dropped = this.#dropped
    this.#dropped = undefined
    return dropped
  }

  /** It could not be told: it is still to be. */
  putBack(dropped: Dropped): void {
    this.#dropped = dropped
  }

  /** Drops a tenth of the oldest at once; the first one left of each channel says that there is a gap before it. */
  #drop(): void {
    const gone = this.#readings.splice(0, MOST_WAITING / 10)
    const first = at(gone, 0)
    this.#dropped ??= { count: 0, fromUtcUs: first.utcUs, toUtcUs: first.utcUs, channels: new Set() }
    this.#dropped.count += gone.length
    this.#dropped.toUtcUs = last(gone).utcUs
    const open = new Set(gone.map((r) => r.channel))
    for (const channel of open) this.#dropped.channels.add(channel)
    for (const [i, reading] of this.#readings.entries()) {
      if (open.size === 0) break
      if (open.delete(reading.channel))
        this.#readings[i] = { ...reading, marks: withMarks(reading.marks, ['gap-before']) }
    }
  }
}
