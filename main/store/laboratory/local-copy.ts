import { randomUUID } from 'node:crypto'
import { type Db, inTransaction, prepared } from '../sqlite.ts'
import type { StationStore } from '../station-store.ts'

/** How far a station and its laboratory know of each other. */
export interface LaboratoryState {
  /** UUID of the database. */
  base: string
  /** The word that the last connection left there, and the one that was about to replace it. */
  token: string
  nextToken: string
  /** Number of the last version here that the database has. */
  pushed: number
  /** Numbers of the last version and the last session there that are here. */
  pulled: number
  sessionsPulled: number
  /** Hash of that version. */
  pulledHash: string
}

/** What a station keeps of its laboratory in station.db. */
export class LocalCopy {
  readonly store: StationStore
  readonly db: Db

  constructor(store: StationStore) {
    this.store = store
    this.db = store.database
  }

  get station(): string {
    return this.store.station
  }

  get state(): LaboratoryState {
    const state = prepared(
      this.db,
      `SELECT base, token, next_token AS nextToken, pushed, pulled, pulled_hash AS pulledHash,
         sessions_pulled AS sessionsPulled FROM laboratory`,
    ).get() as LaboratoryState | undefined
    return (
      state ?? { base: '', token: '', nextToken: '', pushed: 0, pulled: 0, pulledHash: '', sessionsPulled: 0 }
    )
  }

  /** Begins with a database; with another one than before, from the beginning. */
  begin(base: string): void {
    if (this.state.base === base) return
    inTransaction(this.db, () => {
      this.db.exec('DELETE FROM laboratory; DELETE FROM stock; DELETE FROM session_told')
      prepared(this.db, 'INSERT INTO laboratory VALUES (1, ?, ?, ?, 0, 0, ?, 0)').run(
        base,
        randomUUID(),
        '',
        '',
      )
    })
  }

  /** Begins anew with the same database: it was taken back from an older copy, and lacks what it had. */
  beginAgain(): void {
    inTransaction(this.db, () => {
      this.db.exec(
        "UPDATE laboratory SET pushed = 0, pulled = 0, pulled_hash = '', sessions_pulled = 0; DELETE FROM session_told",
      )
    })
  }

  setTokens(token: string, nextToken: string): void {
    prepared(this.db, 'UPDATE laboratory SET token = ?, next_token = ?').run(token, nextToken)
  }

  /** Inside the caller's transaction, or alone. */
  setReach(
    reach: Partial<Pick<LaboratoryState, 'pushed' | 'pulled' | 'pulledHash' | 'sessionsPulled'>>,
  ): void {
    const { pushed, pulled, pulledHash, sessionsPulled } = { ...this.state, ...reach }
    prepared(
      this.db,
      'UPDATE laboratory SET pushed = ?, pulled = ?, pulled_hash = ?, sessions_pulled = ?',
    ).run(pushed, pulled, pulledHash, sessionsPulled)
  }

  /** What people call a station; the beginning of its UUID where nobody has told. */
  nameOf(station: string): string {
    return (
      (prepared(this.db, 'SELECT name FROM bench_name WHERE station = ?').pluck().get(station) as
        | string
        | undefined) ?? `station ${station.slice(0, 8)}`
    )
  }

  setName(station: string, name: string): void {
    prepared(
      this.db,
      `INSERT INTO bench_name VALUES (?, ?) ON CONFLICT (station) DO UPDATE SET name = excluded.name
         WHERE name <> excluded.name`,
    ).run(station, name)
  }
}
