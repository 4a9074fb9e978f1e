import type { Clock, Disposable, Instant } from '../../app/base/clock.ts'
import { eventOf, said, type ToTell } from '../../app/messages/said.ts'
import type { Point } from '../../app/records/point.ts'
import type { NewReading, Reading } from '../../app/records/reading.ts'
import type { NewSessionEvent } from '../../app/records/session.ts'
import { StoreError } from '../store/errors.ts'
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
/** A disk that has not answered for so long is told of, ms. */
const OVERDUE_MS = 10_000

/**
 * The way into a session file. Readings are committed together, in groups that are handed over; nobody hears of a reading
 * before its commit, and nobody who measures waits for it. While the disk refuses, readings wait in memory, unshown, up to a bound, and are
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
  /** A group is on its way to the disk. */
  #handed = false
  #count: number

  constructor(file: SessionFile, clock: Clock, offsetUs: number, stored: number) {
    this.file = file
    this.#clock = clock
    this.#offsetUs = offsetUs
    this.#count = stored
  }

  get failing(): boolean {
    return this.#failing
  }

  /** Readings in the file. */
  get stored(): number {
    return this.#count
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
    this.file.settle()
    while (this.#waiting.count > MOST_AT_ONCE) this.#commitSome({})
    this.#commitSome(batch)
    this.#wentWell()
  }

  #commitSome(batch: Batch): void {
    const taken = this.#takeWaiting(batch)
    try {
      const { firstSeq } = this.file.commit(taken.batch)
      this.#stored(taken, firstSeq)
    } catch (fault) {
      this.#putBack(taken)
      throw fault
    }
  }

  /** Hands the waiting readings over: nobody waits for the disk. One group is on its way at a time. */
  #handOver(): void {
    if (this.#handed) return
    this.#lastUs = this.#clock.now().monoUs
    const taken = this.#takeWaiting({})
    this.#handed = true
    let overdue: Disposable | undefined
    this.file.hand(taken.batch, (outcome) => {
      overdue?.dispose()
      this.#handed = false
      if ('fault' in outcome) {
        this.#putBack(taken)
        this.#fail(outcome.fault)
        return
      }
      this.#stored(taken, outcome.committed.firstSeq)
      this.#wentWell()
      if (this.#waiting.count > 0) this.#schedule()
    })
    if (this.#handed)
      overdue = this.#clock.after(OVERDUE_MS, () =>
        this.#fail(
          new StoreError('input-output', said('disk-silent', { seconds: String(OVERDUE_MS / 1000) })),
        ),
      )
  }

  /** A batch with the oldest readings that wait, and with what was dropped of them. */
  #takeWaiting(batch: Batch): Taken {
    const dropped = this.#waiting.takeDropped()
    const waited = this.#waiting.take(MOST_AT_ONCE)
    const readings = [...waited, ...(batch.readings ?? [])]
    const events = [...(dropped ? [this.event(gapOf(dropped))] : []), ...(batch.events ?? [])]
    return {
      waited,
      dropped,
      batch: {
        ...(readings.length > 0 && { readings }),
        ...(events.length > 0 && { events }),
        ...(batch.points && { points: batch.points }),
        ...(batch.runner !== undefined && { runner: batch.runner }),
      },
    }
  }

  #putBack({ waited, dropped }: Taken): void {
    this.#waiting.takeBack(waited)
    if (dropped) this.#waiting.putBack(dropped)
  }

  #stored({ batch: { readings = [], events = [], points = [] } }: Taken, firstSeq: number): void {
    this.#count += readings.length
    if (readings.length > 0) {
      this.onDidStore.emit(readings.map((reading, i) => ({ ...reading, seq: firstSeq + i })))
    }
    if (events.length > 0 || points.length > 0) this.onDidTell.emit({ events, points })
  }

  #wentWell(): void {
    this.#lazyTimer?.dispose()
    this.#lazyTimer = undefined
    if (!this.#failing) return
    this.#failing = false
    this.onDidRecover.emit()
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

  /** Stores what is left, waiting for the disk where something is on its way. */
  close(): void {
    this.attempt({})
    this.#closed = true
    this.#timer?.dispose()
    this.#lazyTimer?.dispose()
  }

  /** The next group: at once where the last one is long enough ago. */
  #schedule(): void {
    if (this.#timer || this.#handed || this.#failing || this.#closed) return
    const sinceMs = (this.#clock.now().monoUs - this.#lastUs) / 1000
    this.#timer = this.#clock.after(Math.max(0, GROUP_MS - sinceMs), () => {
      this.#timer = undefined
      if (!this.#closed && this.#waiting.count > 0) this.#handOver()
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
      // What a silent disk has been given is waited for, and not by the loop.
      if (this.#handed || !this.attempt({})) this.#retryLater()
    })
  }
}

/** A batch, and what of the waiting readings is in it. */
interface Taken {
  readonly batch: Batch
  readonly waited: readonly NewReading[]
  readonly dropped: Dropped | undefined
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
