import type { Db } from './sqlite.ts'

/** Something that a person has begun to type and not saved yet. It is no record: it is written over, and goes when it is saved. */
export interface Draft {
  key: string
  json: string
  utcUs: number
}

/** Drafts kept for one person; older ones give way. */
const MOST_OF_ONE = 200

/** What people have half typed, kept on the station so that it outlives a reload, another window and a power cut. */
export class Drafts {
  readonly #db: Db
  readonly #now: () => number

  constructor(db: Db, now: () => number) {
    this.#db = db
    this.#now = now
  }

  get(who: string, key: string): Draft | undefined {
    return this.#db
      .prepare('SELECT key, json, utc_us AS utcUs FROM draft WHERE who = ? AND key = ?')
      .get(who, key) as Draft | undefined
  }

  put(who: string, key: string, json: string): void {
    this.#db
      .prepare(
        `INSERT INTO draft (who, key, json, utc_us) VALUES (?, ?, ?, ?)
         ON CONFLICT (who, key) DO UPDATE SET json = excluded.json, utc_us = excluded.utc_us`,
      )
      .run(who, key, json, this.#now())
    this.#db
      .prepare(
        `DELETE FROM draft WHERE who = ? AND key NOT IN
         (SELECT key FROM draft WHERE who = ? ORDER BY utc_us DESC LIMIT ${MOST_OF_ONE})`,
      )
      .run(who, who)
  }

  drop(who: string, key: string): void {
    this.#db.prepare('DELETE FROM draft WHERE who = ? AND key = ?').run(who, key)
  }
}
