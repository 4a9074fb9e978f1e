import { sha256 } from '../chain.ts'
import { StoreError } from '../errors.ts'
import { type Db, prepared } from '../sqlite.ts'
import { applyChange, type Change, type Whole } from './change.ts'

/** One version of a record as it is stored: who changed what, when, at which station and why, chained to the one before. */
export interface Version {
  kind: string
  id: string
  /** Counts the versions of this record from 1. */
  rev: number
  utcUs: number
  who: string
  station: string
  why: string
  /** JSON of a Change. */
  change: string
  /** Hash of the version before; START for the first. */
  before: string
  hash: string
}

/** Hash before the first version of a record. */
export const START = '0'.repeat(64)
const COLUMNS = 'kind, id, rev, utc_us AS utcUs, who, station, why, change, before, hash'

export const versionHash = (v: Omit<Version, 'hash'>): string =>
  sha256(
    Buffer.from(JSON.stringify([v.before, v.kind, v.id, v.rev, v.utcUs, v.who, v.station, v.why, v.change])),
  ).toString('hex')

/** A record as one of its versions left it; `whole` is undefined where it was taken away. */
export interface WholeVersion extends Omit<Version, 'change' | 'before'> {
  state: 'kept' | 'retired' | 'removed'
  whole: Whole
}

/** Append-only table of every version of every record. */
export class Versions {
  readonly #db: Db

  constructor(db: Db) {
    this.#db = db
  }

  last(kind: string, id: string): { rev: number; hash: string } | undefined {
    return prepared(
      this.#db,
      'SELECT rev, hash FROM version WHERE kind = ? AND id = ? ORDER BY rev DESC LIMIT 1',
    ).get(kind, id) as { rev: number; hash: string } | undefined
  }

  /** Inside the caller's transaction. */
  append(version: Omit<Version, 'rev' | 'before' | 'hash'>): Version {
    const last = this.last(version.kind, version.id)
    const numbered = {
      ...version,
      // As UTF-8 keeps them: half a surrogate pair becomes the replacement character before it is hashed, not after.
      id: version.id.toWellFormed(),
      who: version.who.toWellFormed(),
      why: version.why.toWellFormed(),
      rev: (last?.rev ?? 0) + 1,
      before: last?.hash ?? START,
    }
    const whole = { ...numbered, hash: versionHash(numbered) }
    prepared(
      this.#db,
      `INSERT INTO version (kind, id, rev, utc_us, who, station, why, change, before, hash)
         VALUES (@kind, @id, @rev, @utcUs, @who, @station, @why, @change, @before, @hash)`,
    ).run(whole)
    return whole
  }

  byHash(hash: string): Version | undefined {
    return prepared(this.#db, `SELECT ${COLUMNS} FROM version WHERE hash = ?`).get(hash) as
      | Version
      | undefined
  }

  ids(kind: string): string[] {
    return prepared(this.#db, 'SELECT DISTINCT id FROM version WHERE kind = ? ORDER BY id')
      .pluck()
      .all(kind) as string[]
  }

  /** Every version of one record, whole, the oldest first. Throws StoreError 'damaged' at one that cannot be read. */
  all(kind: string, id: string, upTo = Number.MAX_SAFE_INTEGER): WholeVersion[] {
    const rows = prepared(
      this.#db,
      `SELECT ${COLUMNS} FROM version WHERE kind = ? AND id = ? AND rev <= ? ORDER BY rev`,
    ).all(kind, id, upTo) as Version[]
    let whole: Whole | undefined
    let state: WholeVersion['state'] = 'kept'
    return rows.map(({ change: text, before: _, ...row }) => {
      const change = this.#parse(row, text)
      whole = applyChange(whole, change)
      state = change.state ?? state
      return { ...row, state, whole }
    })
  }

  /**
   * Walks every record's versions from its first. `firstBreak` names the first that is missing or not what was written.
   */
  verify(): { whole: boolean; versions: number; firstBreak: string | null } {
    const rows = this.#db.prepare(`SELECT ${COLUMNS} FROM version ORDER BY kind, id, rev`).iterate()
    let last: Version | undefined
    let versions = 0
    for (const row of rows as IterableIterator<Version>) {
      const follows = last?.kind === row.kind && last.id === row.id
      const before = follows ? last!.hash : START
      const rev = follows ? last!.rev + 1 : 1
      const name = `Version ${rev} of ${row.kind} ${row.id}`
      if (row.rev !== rev) return { whole: false, versions, firstBreak: `${name} is missing.` }
      if (row.before !== before || versionHash(row) !== row.hash)
        return { whole: false, versions, firstBreak: `${name} is not what was written.` }
      last = row
      versions += 1
    }
    return { whole: true, versions, firstBreak: null }
  }

  #parse({ kind, id, rev }: { kind: string; id: string; rev: number }, text: string): Change {
    try {
      return JSON.parse(text) as Change
    } catch (fault) {
      throw new StoreError(
        'damaged',
        `Version ${rev} of ${kind} "${id}" in ${this.#db.name} is not readable any more. Take the register from a backup.`,
        { kind, id, rev },
        fault,
      )
    }
  }
}
