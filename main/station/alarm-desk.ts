import type { Clock } from '../../app/base/clock.ts'
import type { AlarmKind } from '../../app/contract/alarm-kinds.ts'
import type { AlarmView } from '../../app/contract/views.ts'
import { type Said, said } from '../../app/messages/said.ts'
import { Signal } from './signals.ts'
import { StationError } from './station-error.ts'

export interface AlarmCause {
  /** What makes two alarms the same one. */
  readonly key: string
  readonly kind: AlarmKind
  readonly severity: AlarmView['severity']
  readonly subject: string | null
  readonly said: Said
  /** Stands in the list and goes nowhere else: neither into a session nor to people by mail. */
  readonly quiet?: boolean
}

/** What happened to an alarm, for the record and for those who are told. */
export interface AlarmChange {
  readonly what: 'raised' | 'ended' | 'acknowledged'
  readonly alarm: AlarmView
  readonly cause: AlarmCause
}

/** Alarms kept for the list; the oldest that have ended go first. One that still holds never goes. */
const MOST_KEPT = 1_000
/** A cause that comes again is told again only after this long, s: nobody wants a message for each turn of a loose plug. */
const TELL_AGAIN_S = 3_600

interface Kept {
  view: AlarmView
  /** When people were told last, on the monotonic count. */
  toldUs: number
  cause: AlarmCause
}

/**
 * All alarms of the station. One cause is one alarm, however often it comes: it counts up. Raised anew after it had
 * ended and been acknowledged it is a new one.
 */
export class AlarmDesk {
  readonly onDidChange = new Signal<AlarmChange>()
  /** What the rules make of a cause; undefined where none asks for it. */
  obey: (cause: AlarmCause) => AlarmCause | undefined = (cause) => cause
  readonly #clock: Clock
  #kept: Kept[] = []
  #count = 0

  constructor(clock: Clock) {
    this.#clock = clock
  }

  /**
   * Puts alarms that nobody had seen before a restart back on the list, told of already and no longer active: a cause
   * that still holds raises its own again.
   */
  putBack(unseen: readonly { readonly view: AlarmView; readonly cause: AlarmCause }[]): void {
    const { monoUs } = this.#clock.now()
    for (const { view, cause } of unseen) {
      this.#count += 1
      this.#kept.push({ view: { ...view, id: `alarm-${this.#count}`, active: false }, cause, toldUs: monoUs })
    }
    this.#kept.sort((a, b) => a.view.utcUs - b.view.utcUs)
    this.#forget()
  }

  /** Newest first: everything that still holds, and the newest of what has ended. */
  list(most = 100): AlarmView[] {
    let room = Math.max(0, most - this.active.length)
    return this.#kept
      .toReversed()
      .filter(({ view }) => view.active || room-- > 0)
      .map((kept) => kept.view)
  }

  get count(): number {
    return this.#kept.length
  }

  get active(): readonly AlarmView[] {
    return this.#kept.filter((k) => k.view.active).map((k) => k.view)
  }

  raise(told: AlarmCause): void {
    const cause = this.obey(told)
    if (!cause) return
    const known = this.#find(cause.key)
    const saysMore = cause.quiet && known && known.cause.said.words !== cause.said.words
    if (known && !(saysMore && known.view.acknowledgedBy !== null)) {
      this.#again(known, cause)
      return
    }
    // Somebody has seen what it said before; what it says now is another.
    if (known) known.view = { ...known.view, active: false }
    this.#count += 1
    const view: AlarmView = {
      id: `alarm-${this.#count}`,
      utcUs: this.#clock.now().utcUs,
      severity: cause.severity,
      subject: cause.subject,
      words: cause.said.words,
      count: 1,
      active: true,
      acknowledgedBy: null,
      acknowledgedUtcUs: null,
    }
    this.#kept.push({ view, cause, toldUs: this.#clock.now().monoUs })
    this.#forget()
    this.onDidChange.emit({ what: 'raised', alarm: view, cause })
  }

  #again(known: Kept, cause: AlarmCause): void {
    if (cause.said.code !== known.cause.said.code) {
      // Another sentence of the same alarm: what holds now is shown, and nobody is called a second time for it.
      known.cause = cause
      known.view = { ...known.view, words: cause.said.words }
    }
    if (known.view.active) {
      // A notice that counts says its new number at once; a figure that moves is told of once.
      if (cause.quiet && cause.said.words !== known.cause.said.words) {
        known.cause = cause
        known.view = { ...known.view, words: cause.said.words, count: known.view.count + 1 }
      }
      return
    }
    known.view = { ...known.view, count: known.view.count + 1, active: true }
    const { monoUs } = this.#clock.now()
    if (monoUs - known.toldUs < TELL_AGAIN_S * 1e6) return
    known.toldUs = monoUs
    this.onDidChange.emit({ what: 'raised', alarm: known.view, cause: known.cause })
  }

  /** The cause is gone. The alarm stays on the list until it has been acknowledged. */
  end(key: string): void {
    const kept = this.#find(key)
    if (!kept?.view.active) return
    kept.view = { ...kept.view, active: false }
    this.onDidChange.emit({ what: 'ended', alarm: kept.view, cause: kept.cause })
  }

  acknowledge(id: string, who: string): void {
    const kept = this.#kept.find((k) => k.view.id === id)
    if (!kept) throw new StationError('no-such-alarm', said('no-such-alarm', {}), { id })
    if (kept.view.acknowledgedBy !== null) return
    kept.view = { ...kept.view, acknowledgedBy: who, acknowledgedUtcUs: this.#clock.now().utcUs }
    this.onDidChange.emit({ what: 'acknowledged', alarm: kept.view, cause: kept.cause })
  }

  /** The alarm a cause belongs to: the last one of its key that still runs, or that nobody has acknowledged yet. */
  #find(key: string): Kept | undefined {
    return this.#kept.findLast(
      ({ view, cause }) => cause.key === key && (view.active || view.acknowledgedBy === null),
    )
  }

  #forget(): void {
    while (this.#kept.length > MOST_KEPT) {
      const place = this.#kept.findIndex((k) => !k.view.active)
      if (place < 0) return
      this.#kept.splice(place, 1)
    }
  }
}
