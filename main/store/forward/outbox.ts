import { inTransaction } from '../sqlite.ts'
import type { StationStore } from '../station-store.ts'
import type { Reach } from './target.ts'

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

  /** Sessions of which the other side has not confirmed that it has them whole, the newest first. */
  unconfirmed(): string[] {
    return this.#store.database
      .prepare(
        `SELECT id FROM session WHERE damaged IS NULL AND away = 0 AND id NOT IN (
          SELECT session FROM sent WHERE target = ? AND confirmed = 1)
         ORDER BY started_utc_us DESC`,
      )
      .pluck()
      .all(this.target) as string[]
  }

  sent(session: string): Reach {
    const row = this.#store.database
      .prepare(
        'SELECT last_seq AS seq, last_event AS event, last_point AS point FROM sent WHERE target = ? AND session = ?',
      )
      .get(this.target, session) as Reach | undefined
    return row ?? { seq: 0, event: 0, point: 0 }
  }

  /** `confirmed`: the session has ended, and the other side has counted all of it. */
  mark(session: string, { seq, event, point }: Reach, confirmed = false): void {
    inTransaction(this.#store.database, () =>
      this.#store.database
        .prepare('INSERT OR REPLACE INTO sent VALUES (?, ?, ?, ?, ?, ?)')
        .run(this.target, session, seq, event, point, confirmed ? 1 : 0),
    )
  }
}
