import type { Disposable } from '../../app/base/clock.ts'
import type { AnyInstrument, TrafficLine } from '../../app/instruments/faces.ts'
import { Signal } from './signals.ts'

export interface StationTraffic extends TrafficLine {
  readonly instrument: string
}

const MOST_LINES = 5_000

/** The latest lines of all links, and new ones as they pass. */
export class TrafficLog {
  readonly onLine = new Signal<StationTraffic>()
  #lines: StationTraffic[] = []

  follow(instrument: AnyInstrument): Disposable {
    return instrument.onTraffic((line) => {
      const told = { ...line, instrument: instrument.id }
      this.#lines.push(told)
      if (this.#lines.length >= 2 * MOST_LINES) this.#lines = this.#lines.slice(-MOST_LINES)
      this.onLine.emit(told)
    })
  }

  /** The last `most` lines of one link, or of all, oldest first. */
  recent(most: number, instrument?: string): StationTraffic[] {
    const own =
      instrument === undefined ? this.#lines : this.#lines.filter((l) => l.instrument === instrument)
    return most <= 0 ? [] : own.slice(-Math.min(most, MOST_LINES))
  }
}
