import type { Clock, Disposable, Instant } from '../../app/base/clock.ts'
import type { Mark } from '../../app/records/mark.ts'
import type { Point } from '../../app/records/point.ts'
import type { NewReading, Reading } from '../../app/records/reading.ts'
import type { NewSessionEvent } from '../../app/records/session.ts'
import type { SessionFile } from '../store/session-file.ts'
import { Signal } from './signals.ts'

/** What goes to the file in one transaction. */
export interface Batch {
  readonly readings?: readonly NewReading[]
  readonly events?: readonly NewSessionEvent[]
  readonly points?: readonly Point[]
  readonly runner?: unknown
}

export interface EventWords {
  readonly kind: NewSessionEvent['kind']
  readonly words: string
  readonly who?: string
  readonly subject?: string | null
  readonly data?: Record<string, unknown>
}

/** Most readings kept waiting while the disk refuses; an hour of a busy bench. */
const MOST_WAITING = 100_000
const RETRY_MS = 5_000
/** Longest that a reading nobody waits for goes without its commit. */
const LAZY_MS = 4_000

/**
 * The way into a session file. Readings that arrive within one turn of the event loop are committed together; nobody
 * hears of a reading before its commit. While the disk refuses, readings wait in memory, unshown, and are tried again.
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
  #waiting: NewReading[] = []
  #waiters: { resolve(): void }[] = []
  #scheduled = false
  #lazyTimer: Disposable | undefined
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
   * Hands a reading over; resolves once it is on the disk. `lazy`: nobody waits to see it, so it may go with the next
   * reading's commit, within a few seconds at most.
   */
  take(reading: NewReading, lazy = false): Promise<void> {
    if (this.#waiting.length >= MOST_WAITING) this.#waiting.shift()
    this.#waiting.push(reading)
    if (lazy) this.#lazyTimer ??= this.#clock.after(LAZY_MS, () => this.#schedule())
    else this.#schedule()
    return new Promise((resolve) => this.#waiters.push({ resolve }))
  }

  /** Commits at once, with whatever readings wait. Throws the store's error where it cannot; nothing is lost by that. */
  commit(batch: Batch = {}): void {
    const readings = [...this.#waiting, ...(batch.readings ?? [])]
    const { firstSeq } = this.file.commit({
      ...(readings.length > 0 && { readings }),
      ...(batch.events && { events: [...batch.events] }),
      ...(batch.points && { points: [...batch.points] }),
      ...(batch.runner !== undefined && { runner: batch.runner }),
    })
    this.#waiting = []
    this.#lazyTimer?.dispose()
    this.#lazyTimer = undefined
    this.#stored += readings.length
    if (this.#failing) {
      this.#failing = false
      this.onDidRecover.emit()
    }
    const waiters = this.#waiters
    this.#waiters = []
    if (readings.length > 0) {
      this.onDidStore.emit(readings.map((reading, i) => ({ ...reading, seq: firstSeq + i })))
    }
    if (batch.events?.length || batch.points?.length) {
      this.onDidTell.emit({ events: batch.events ?? [], points: batch.points ?? [] })
    }
    for (const waiter of waiters) waiter.resolve()
  }

  event({ kind, words, who = 'station', subject = null, data = {} }: EventWords): NewSessionEvent {
    const { utcUs, monoUs } = this.now()
    return { utcUs, monoUs, kind, who, subject, words, data }
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
    if (this.#waiting.length > 0) this.attempt({})
    this.#closed = true
    this.#lazyTimer?.dispose()
    for (const waiter of this.#waiters) waiter.resolve()
    this.#waiters = []
  }

  #schedule(): void {
    if (this.#scheduled || this.#failing || this.#closed) return
    this.#scheduled = true
    setImmediate(() => {
      this.#scheduled = false
      if (!this.#closed && this.#waiting.length > 0) this.attempt({})
    })
  }

  #fail(fault: unknown): void {
    const first = !this.#failing
    this.#failing = true
    // Readings wait for room, but nobody waits for them: the next scan must not stand still on a full disk.
    for (const waiter of this.#waiters) waiter.resolve()
    this.#waiters = []
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

/** Adds marks without repeating one. */
export function withMarks(marks: readonly Mark[], more: readonly Mark[]): Mark[] {
  return [...new Set([...marks, ...more])]
}
