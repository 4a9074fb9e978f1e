import type { Clock, Disposable, Instant } from '../../app/base/clock.ts'
import { eventOf, said, type ToTell } from '../../app/messages/said.ts'
import type { Point } from '../../app/records/point.ts'
import type { NewReading, Reading } from '../../app/records/reading.ts'
import type { NewSessionEvent } from '../../app/records/session.ts'
import type { SessionFile } from '../store/session-file.ts'
import { Signal } from './signals.ts'
import { type Dropped, MOST_WAITING, WaitingReadings } from './waiting-readings.ts'

/** What goes to the file in one transaction. */
export interface Batch {
  readonly readings?: readonly NewReading[]
  readonly events?: readonly NewSessionEvent[]
  readonly points?: readonly Point[]
  readonly runner?: unknown
}

export type EventWords = ToTell<NewSessionEvent['kind']>

/** Readings are committed in groups, at most this far apart, ms: nobody sees one later for it, and lanes do not wait. */
const GROUP_MS = 50
const RETRY_MS = 5_000
/** Longest that a reading nobody waits for goes without its commit. */
const LAZY_MS = 4_000
/** Readings of one transaction, where many have waited. */
const MOST_AT_ONCE = 5_000

/**
 * The way into a session file. Readings are committed together, in groups; nobody hears of a reading before its commit, and
 * nobody who measures waits for it. While the disk refuses, readings wait in memory, unshown, up to a bound, and are
 * tried again; what had to be dropped is told as a gap when there is room.
 */
export class Recorder {
  readonly file: SessionFile
  readonly onDidStore = new Signal<readonly Reading[]>()
  /** Events and points that have been stored. */
  readonly onDidTell = new Signal<{ events: readonly NewSessionEvent[]; points: readonly Point[] }>()
  readonly onDidFail = new Signal<unknown>()
  readonly onDidRecover = new Signal<void>()
  readonly #clock: Clock
  /** Session's monotonic count less the clock's own. */
  readonly #offsetUs: number
  readonly #waiting = new WaitingReadings()
  #timer: Disposable | undefined
  #lazyTimer: Disposable | undefined
  #lastUs = Number.NEGATIVE_INFINITY
  #failing = false
  #closed = false
  #stored: number

  constructor(file: SessionFile, clock: Clock, offsetUs: number, stored: number) {
    this.file = file
    this.#clock = clock
    this.#offsetUs = offsetUs
    this.#stored = stored
  }

  get failing(): boolean {
    return this.#failing
  }

  /** Readings in the file. */
  get stored(): number {
    return this.#stored
  }

  now(): Instant {
    return this.stamp(this.#clock.now())
  }

  /** A moment of the station's clock in the session's own count. */
  stamp(at: Instant): Instant {
    return { utcUs: at.utcUs, monoUs: at.monoUs + this.#offsetUs }
  }

  /**
   * Hands a reading over to go with the next commit. `lazy`: nobody waits to see it, so it may go with the next reading's
   * commit, within a few seconds at most.
   */
  take(reading: NewReading, lazy = false): void {
    this.#waiting.add(reading)
    if (lazy) this.#lazyTimer ??= this.#clock.after(LAZY_MS, () => this.#schedule())
    else this.#schedule()
  }

  /** Commits at once, with whatever readings wait. Throws the store's error where it cannot; nothing is lost by that. */
  commit(batch: Batch = {}): void {
    this.#lastUs = this.#clock.now().monoUs
    while (this.#waiting.count > MOST_AT_ONCE) this.#commitSome({}, MOST_AT_ONCE)
    const dropped = this.#waiting.takeDropped()
    const events = [...(dropped ? [this.event(gapOf(dropped))] : []), ...(batch.events ?? [])]
    try {
      this.#commitSome({ ...batch, ...(events.length > 0 && { events }) }, MOST_AT_ONCE)
    } catch (fault) {
      if (dropped) this.#waiting.putBack(dropped)
      throw fault
    }
    this.#lazyTimer?.dispose()
    this.#lazyTimer = undefined
    if (this.#failing) {
      this.#failing = false
      this.onDidRecover.emit()
    }
  }

  #commitSome(batch: Batch, most: number): void {
    const waiting = this.#waiting.first(most)
    const readings = [...waiting, ...(batch.readings ?? [])]
    const { firstSeq } = this.file.commit({
      ...(readings.length > 0 && { readings }),
      ...(batch.events && { events: [...batch.events] }),
      ...(batch.points && { points: [...batch.points] }),
      ...(batch.runner !== undefined && { runner: batch.runner }),
    })
    this.#waiting.remove(waiting.length)
    this.#stored += readings.length
    if (readings.length > 0) {
      this.onDidStore.emit(readings.map((reading, i) => ({ ...reading, seq: firstSeq + i })))
    }
    if (batch.events?.length || batch.points?.length) {
      this.onDidTell.emit({ events: batch.events ?? [], points: batch.points ?? [] })
    }
  }

  event(told: EventWords): NewSessionEvent {
    const { utcUs, monoUs } = this.now()
    return { utcUs, monoUs, ...eventOf(told) }
  }

  /** Writes events down now; where the disk refuses, the fault is told to listeners and the words are lost to the log. */
  tell(...events: EventWords[]): boolean {
    return this.attempt({ events: events.map((e) => this.event(e)) })
  }

  /** Commits, or reports the fault; true where it is on the disk. */
  attempt(batch: Batch): boolean {
    try {
      this.commit(batch)
      return true
    } catch (fault) {
      this.#fail(fault)
      return false
    }
  }

  close(): void {
    if (this.#waiting.count > 0) this.attempt({})
    this.#closed = true
    this.#timer?.dispose()
    this.#lazyTimer?.dispose()
  }

  /** The next group: at once where the last one is long enough ago. */
  #schedule(): void {
    if (this.#timer || this.#failing || this.#closed) return
    const sinceMs = (this.#clock.now().monoUs - this.#lastUs) / 1000
    this.#timer = this.#clock.after(Math.max(0, GROUP_MS - sinceMs), () => {
      this.#timer = undefined
      if (!this.#closed && this.#waiting.count > 0) this.attempt({})
    })
  }

  #fail(fault: unknown): void {
    const first = !this.#failing
    this.#failing = true
    if (first) {
      this.onDidFail.emit(fault)
      this.#retryLater()
    }
  }

  #retryLater(): void {
    this.#clock.after(RETRY_MS, () => {
      if (this.#closed || !this.#failing) return
      if (!this.attempt({})) this.#retryLater()
    })
  }
}

/** The gap that dropping has left, for the record. */
function gapOf({ count, fromUtcUs, toUtcUs, channels }: Dropped): EventWords {
  const time = (utcUs: number) => `${new Date(utcUs / 1000).toISOString().slice(0, 19)}Z`
  return {
    kind: 'gap',
    said: said('readings-dropped', {
      count: String(count),
      from: time(fromUtcUs),
      to: time(toUtcUs),
      waiting: String(MOST_WAITING),
    }),
    data: {
      fromUtcUs,
      toUtcUs,
      seconds: (toUtcUs - fromUtcUs) / 1e6,
      dropped: count,
      channels: [...channels],
    },
  }
}
