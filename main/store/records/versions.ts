import { said } from '../../../app/messages/said.ts'
import { sha256 } from '../chain.ts'
import { StoreError } from '../errors.ts'
import { type Db, prepared } from '../sqlite.ts'
import { applyChange, type Change, type Whole } from './change.ts'

/** One version of a record as it is stored: who changed what, when, at which station and why, chained to the one before. */
export interface Version {
  kind: string
  id: string
  /** One more than the highest of the versions it follows; 1 for a first. */
  rev: number
  utcUs: number
  who: string
  /** UUID of the station where it was made; empty before stations had one. */
  station: string
  why: string
  /** JSON of a Change of the version `before`. */
  change: string
  /** Hash of the version before; START for the first. */
  before: string
  /** Hashes, with blanks between, of versions beside `before` that it settles: somebody decided between them. */
  others: string
  hash: string
}

/** Hash before the first version of a record. */
export const START = '0'.repeat(64)
const COLUMNS = 'kind, id, rev, utc_us AS utcUs, who, station, why, change, before, others, hash'

export const versionHash = (v: Omit<Version, 'hash' | 'others'> & { others?: string }): string =>
  sha256(
    Buffer.from(
      JSON.stringify([
        ...[v.before, v.kind, v.id, v.rev, v.utcUs, v.who, v.station, v.why, v.change],
        ...(v.others ? [v.others] : []),
      ]),
    ),
  ).toString('hex')

const split = (others: string) => (others === '' ? [] : others.split(' '))
export const parentsOf = ({ before, others }: Pick<Version, 'before' | 'others'>): string[] => [
  ...(before === START ? [] : [before]),
  ...split(others),
]

/** A record as one of its versions left it; `whole` is what was known of it where it was taken away. */
export interface WholeVersion extends Omit<Version, 'change' | 'before' | 'others'> {
  state: 'kept' | 'retired' | 'removed'
  whole: Whole
}

/**
 * Append-only table of every version of every record. The versions of one record are a line while one place changes it; two
 * places that changed the same version make a fork, which lasts until a version follows both.
 */
export class Versions {
  readonly #db: Db

  constructor(db: Db) {
    this.#db = db
  }

  /** The version that holds; see `head`. */
  last(kind: string, id: string): { rev: number; hash: string } | undefined {
    if (this.isForked(kind, id)) return headOf(this.#ofRecord(kind, id))
    return prepared(
      this.#db,
      'SELECT rev, hash FROM version WHERE kind = ? AND id = ? ORDER BY rev DESC LIMIT 1',
    ).get(kind, id) as { rev: number; hash: string } | undefined
  }

  isForked(kind: string, id: string): boolean {
    return prepared(this.#db, 'SELECT 1 FROM fork WHERE kind = ? AND id = ?').get(kind, id) !== undefined
  }

  /** Records of which two versions follow the same one, undecided. */
  forks(): { kind: string; id: string }[] {
    return prepared(this.#db, 'SELECT kind, id FROM fork ORDER BY kind, id').all() as {
      kind: string
      id: string
    }[]
  }

  /** The versions that none follows, the one that holds first. */
  leaves(kind: string, id: string): WholeVersion[] {
    const rows = this.#ofRecord(kind, id)
    const head = headOf(rows)
    const ends = new Set(leavesOf(rows).map(({ hash }) => hash))
    return this.#whole(rows)
      .filter(({ hash }) => ends.has(hash))
      .sort((a, b) => Number(b.hash === head?.hash) - Number(a.hash === head?.hash))
  }

  /** After the one that holds, and after `others` too, which are settled by it. Inside the caller's transaction. */
  append(
    version: Omit<Version, 'rev' | 'before' | 'others' | 'hash'>,
    others: readonly { rev: number; hash: string }[] = [],
  ): Version {
    const last = this.last(version.kind, version.id)
    const numbered = {
      ...version,
      // As UTF-8 keeps them: half a surrogate pair becomes the replacement character before it is hashed, not after.
      id: version.id.toWellFormed(),
      who: version.who.toWellFormed(),
      why: version.why.toWellFormed(),
      rev: Math.max(last?.rev ?? 0, ...others.map(({ rev }) => rev)) + 1,
      before: last?.hash ?? START,
      others: others
        .map(({ hash }) => hash)
        .sort()
        .join(' '),
    }
    const whole = { ...numbered, hash: versionHash(numbered) }
    this.#insert(whole)
    if (this.isForked(version.kind, version.id)) this.#noteFork(version.kind, version.id)
    return whole
  }

  /**
   * Takes over a version that was made elsewhere, inside the caller's transaction; false where it is here already. Throws
   * StoreError 'damaged' where it is not what was written, or a version before it is not here.
   */
  takeOver(version: Version): boolean {
    const { kind, id, rev, hash } = version
    if (this.byHash(hash)) return false
    const parents = parentsOf(version).map((parent) => this.byHash(parent))
    const fits =
      versionHash(version) === hash &&
      parents.every((parent) => parent !== undefined && parent.kind === kind && parent.id === id) &&
      rev === Math.max(0, ...parents.map((parent) => parent?.rev ?? 0)) + 1
    if (!fits)
      throw new StoreError('damaged', said('version-not-taken-over', { rev, kind, id }), { kind, id, rev })
    const last = this.last(kind, id)
    this.#insert(version)
    if (this.isForked(kind, id) || version.before !== (last?.hash ?? START)) this.#noteFork(kind, id)
    return true
  }

  /** Versions in the order in which they came here, after a number. */
  after(n: number, most: number): (Version & { n: number })[] {
    return prepared(this.#db, `SELECT n, ${COLUMNS} FROM version WHERE n > ? ORDER BY n LIMIT ?`).all(
      n,
      most,
    ) as (Version & { n: number })[]
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
  all(kind: string, id: string): WholeVersion[] {
    return this.#whole(this.#ofRecord(kind, id))
  }

  /** The record as the version that holds left it. */
  head(kind: string, id: string): WholeVersion | undefined {
    const rows = this.#ofRecord(kind, id)
    const head = headOf(rows)
    return head && this.#whole(rows).find(({ hash }) => hash === head.hash)
  }

  /** The record as one version left it. */
  whole(hash: string): WholeVersion | undefined {
    const version = this.byHash(hash)
    return version && this.all(version.kind, version.id).find((one) => one.hash === hash)
  }

  /**
   * Walks every record's versions from its first. `firstBreak` names the first that is missing or not what was written.
   */
  verify(): { whole: boolean; versions: number; firstBreak: string | null } {
    const rows = this.#db.prepare(`SELECT ${COLUMNS} FROM version ORDER BY kind, id, rev`).iterate()
    let of = ''
    let known = new Map<string, number>()
    let versions = 0
    for (const row of rows as IterableIterator<Version>) {
      const record = `${row.kind} ${row.id}`
      if (record !== of) known = new Map()
      of = record
      const revs = parentsOf(row).map((parent) => known.get(parent))
      const highest = Math.max(0, ...known.values())
      if (row.rev > highest + 1)
        return { whole: false, versions, firstBreak: `Version ${highest + 1} of ${record} is missing.` }
      const rev = Math.max(0, ...revs.map((one) => one ?? 0)) + 1
      if (revs.includes(undefined) || row.rev !== rev || versionHash(row) !== row.hash)
        return {
          ...{ whole: false, versions },
          firstBreak: `Version ${row.rev} of ${record} is not what was written.`,
        }
      known.set(row.hash, row.rev)
      versions += 1
    }
    return { whole: true, versions, firstBreak: null }
  }

  #insert(version: Version): void {
    prepared(
      this.#db,
      `INSERT INTO version (kind, id, rev, utc_us, who, station, why, change, before, others, hash)
         VALUES (@kind, @id, @rev, @utcUs, @who, @station, @why, @change, @before, @others, @hash)`,
    ).run(version)
  }

  #noteFork(kind: string, id: string): void {
    const isFork = leavesOf(this.#ofRecord(kind, id)).length > 1
    prepared(
      this.#db,
      isFork ? 'INSERT OR IGNORE INTO fork VALUES (?, ?)' : 'DELETE FROM fork WHERE kind = ? AND id = ?',
    ).run(kind, id)
  }

  #ofRecord(kind: string, id: string): Version[] {
    return prepared(
      this.#db,
      `SELECT ${COLUMNS} FROM version WHERE kind = ? AND id = ? ORDER BY rev, utc_us, hash`,
    ).all(kind, id) as Version[]
  }

  /** Each as it left the record: those before a version stand before it in `rows`. */
  #whole(rows: readonly Version[]): WholeVersion[] {
    const known = new Map<string, WholeVersion>()
    return rows.map(({ change: text, before, others: _, ...row }) => {
      const change = this.#parse(row, text)
      const from = known.get(before)
      const version = {
        ...row,
        state: change.state ?? from?.state ?? 'kept',
        whole: applyChange(from?.whole, change),
      }
      known.set(row.hash, version)
      return version
    })
  }

  #parse({ kind, id, rev }: { kind: string; id: string; rev: number }, text: string): Change {
    try {
      return JSON.parse(text) as Change
    } catch (fault) {
      throw new StoreError(
        'damaged',
        said('version-unreadable', { rev, kind, id, db: this.#db.name }),
        { kind, id, rev },
        fault,
      )
    }
  }
}

function leavesOf(rows: readonly Version[]): Version[] {
  const followed = new Set(rows.flatMap(parentsOf))
  return rows.filter(({ hash }) => !followed.has(hash))
}

/**
 * The version that holds. Where two follow the same one, the one that was saved first holds until somebody decides, so that
 * every station shows the same. `rows` in the order of rev, time and hash.
 */
function headOf(rows: readonly Version[]): Version | undefined {
  const next = new Map<string, Version[]>()
  for (const row of rows)
    for (const parent of row.before === START && row.others === '' ? [START] : parentsOf(row))
      next.set(parent, [...(next.get(parent) ?? []), row])
  let head: Version | undefined
  for (let at = START; ; at = head.hash) {
    const first = next
      .get(at)
      ?.reduce((a, b) => (a.utcUs < b.utcUs || (a.utcUs === b.utcUs && a.hash < b.hash) ? a : b))
    if (!first) return head
    head = first
  }
}
