import { inTransaction } from '../sqlite.ts'
import type { StationStore } from '../station-store.ts'

/** How far a session was sent on to a target. */
export interface Sent {
  seq: number
  event: number
  point: number
}

/**
 * What is still to be sent is the sessions' own log after these marks, kept in station.db: nothing is copied, and
 * nothing is forgotten while the other side or the station is away.
 */
export class Outbox {
  readonly #store: StationStore
  readonly target: string

  constructor(store: StationStore, target: string) {
    this.#store = store
    this.target = target
  }

  /** Sessions that were begun to be sent. */
  sessions(): string[] {
    return this.#store.database
      .prepare('SELECT session FROM sent WHERE target = ? ORDER BY session')
      .pluck()
      .all(this.target) as string[]
  }

  sent(session: string): Sent {
    const row = this.#store.database
      .prepare(
        'SELECT last_seq AS seq, last_event AS event, last_point AS point FROM sent WHERE target = ? AND session = ?',
      )
      .get(this.target, session) as Sent | undefined
    return row ?? { seq: 0, event: 0, point: 0 }
  }

  mark(session: string, { seq, event, point }: Sent): void {
    inTransaction(this.#store.database, () =>
      this.#store.database
        .prepare('INSERT OR REPLACE INTO sent VALUES (?, ?, ?, ?, ?)')
        .run(this.target, session, seq, event, point),
    )
  }
}
