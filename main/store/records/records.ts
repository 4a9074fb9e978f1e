import { isDeepStrictEqual } from 'node:util'
import { isoUtc } from '../../../app/base/clock.ts'
import type { RecordLine } from '../../../app/contract/pages.ts'
import { said } from '../../../app/messages/said.ts'
import { StoreError } from '../errors.ts'
import type { Ledger } from '../ledger.ts'
import { type Db, inTransaction, prepared } from '../sqlite.ts'
import { applyChange, type Change, changeOf, type RecordState, type Whole } from './change.ts'
import { readCurrent, writeCurrent } from './current.ts'
import { type Entry, isKind, KINDS, type Kind } from './kinds.ts'
import { listRecords, type RecordQuery } from './query.ts'
import { type Version, Versions, type WholeVersion } from './versions.ts'

/** By whom and why something is done to a record. */
export interface Act {
  readonly who: string
  readonly why: string
}

/** One stored version of a record; `value` is undefined where it was taken away. */
export interface EntryVersion<T> {
  rev: number
  utcUs: number
  who: string
  /** UUID of the station where it was made; empty before stations had one. */
  station: string
  why: string
  state: RecordState
  value: T | undefined
}

/** A version to be appended, and what it makes of the record. */
interface Appended {
  kind: Kind
  id: string
  /** The record before it; undefined where it begins anew. */
  before: Whole | undefined
  change: Change
  state: RecordState
  done: string
  /** Sides of a fork that it settles beside the one that holds. */
  settles?: readonly WholeVersion[]
}

const DONE: Record<RecordState, string> = { kept: 'brought back', retired: 'retired', removed: 'removed' }
/** How the ledger names a version that it stands for. */
const BY_HASH = 'sha256:'

/**
 * The lasting records of a station, of every kind. Each change is a version of its own that stays, with who, when,
 * where and why; the rows that lists, searches and questions are answered from follow from the versions. Nothing here
 * reads more than what is asked for.
 */
export class Records {
  readonly #db: Db
  readonly #ledger: Ledger
  readonly #versions: Versions
  readonly #now: () => number
  readonly #station: () => string

  constructor(db: Db, parts: { ledger: Ledger; now: () => number; station: () => string }) {
    this.#db = db
    this.#ledger = parts.ledger
    this.#versions = new Versions(db)
    this.#now = parts.now
    this.#station = parts.station
  }

  /** Throws ZodError for a value without its form; StoreError where it cannot be stored. */
  save<K extends Kind>(kind: K, id: string, value: Entry<K>, act: Act): void {
    inTransaction(this.#db, () => this.put(kind, id, value, act))
  }

  /** All or none. */
  saveAll(entries: readonly { kind: Kind; value: { id: string } }[], act: Act): void {
    inTransaction(this.#db, () => {
      for (const { kind, value } of entries) this.put(kind, value.id, value, act)
    })
  }

  /** As `save`, inside the caller's transaction. */
  put(kind: Kind, id: string, value: unknown, act: Act): void {
    const whole = KINDS[kind].schema.parse(value) as Whole
    const before = this.#raw(kind, id)
    const kept = before && before.state !== 'removed' ? before : undefined
    const change = changeOf(kept?.whole, whole, KINDS[kind].lists)
    if (before?.state === 'removed') change.state = 'kept'
    const state = change.state ?? before?.state ?? 'kept'
    const settles = this.#alike(kind, id)
    this.#append({ kind, id, before: kept?.whole, change, state, done: 'saved', settles }, act)
  }

  /** Records that two places changed meanwhile, so that somebody has to decide. */
  undecided(): { kind: Kind; id: string }[] {
    return this.#versions
      .forks()
      .filter((one): one is { kind: Kind; id: string } => isKind(one.kind))
      .filter(({ kind, id }) => this.#alike(kind, id).length === 0)
  }

  /** Of a record that two places changed: how each left it, the one that holds until somebody decides first. */
  sides(kind: Kind, id: string): WholeVersion[] {
    return this.#versions.leaves(kind, id)
  }

  /**
   * Settles a record that two places changed: it is from now on as one of its sides left it, in a version that follows all of
   * them. Throws StoreError 'not-found' where there is nothing to decide, or no such side.
   */
  decide(kind: Kind, id: string, hash: string, act: Act): void {
    inTransaction(this.#db, () => {
      const [held, ...others] = this.#versions.leaves(kind, id)
      const kept = [held, ...others].find((side) => side?.hash === hash)
      if (!held || !kept || others.length === 0)
        throw new StoreError('not-found', said('nothing-to-decide', { kind, id }), {
          kind,
          id,
        })
      const change = changeOf(held.whole, kept.whole, KINDS[kind].lists)
      if (kept.state !== held.state) change.state = kept.state
      this.#append(
        { kind, id, before: held.whole, change, state: kept.state, done: 'saved', settles: others },
        act,
      )
    })
  }

  /**
   * Takes over a version that another station made, inside the caller's transaction; false where it is here already. `from`:
   * that station, as a person calls it. Throws StoreError 'damaged' where it does not fit.
   */
  takeOver(version: Version, from: string): boolean {
    const { kind, id, hash, who, utcUs } = version
    const before = this.#versions.last(kind, id)
    if (!this.#versions.takeOver(version)) return false
    // What a newer program keeps is kept for it.
    if (!isKind(kind)) return true
    const holds = this.#versions.last(kind, id)?.hash
    if (holds !== before?.hash) this.#renew(kind, id)
    const { state, set, unset, lists, fresh } = JSON.parse(version.change) as Change
    const done = state === undefined || set || unset || lists || fresh ? 'saved' : DONE[state]
    this.#ledger.append(
      {
        who,
        what: holds === hash ? `${kind} ${done}` : `${kind} changed meanwhile`,
        subject: id,
        old: before ? BY_HASH + before.hash : null,
        new: BY_HASH + hash,
        why: `${version.why} (at ${from}, ${isoUtc(utcUs).slice(0, 16)})`.trim(),
      },
      this.#now(),
    )
    return true
  }

  /** Versions in the order in which they came here, after a number. */
  since(n: number, most: number): (Version & { n: number })[] {
    return this.#versions.after(n, most)
  }

  /** It leaves the lists and is found by its id as before; its versions stay. Throws StoreError 'not-found'. */
  retire(kind: Kind, id: string, act: Act): void {
    this.#setState(kind, id, 'retired', act)
  }

  bringBack(kind: Kind, id: string, act: Act): void {
    this.#setState(kind, id, 'kept', act)
  }

  /** It is not found any more; its versions stay. Throws StoreError 'not-found'. */
  remove(kind: Kind, id: string, act: Act): void {
    this.#setState(kind, id, 'removed', act)
  }

  /** One record whole; undefined where there is none. Throws StoreError 'damaged' where neither its rows nor its versions can be read. */
  one<K extends Kind>(kind: K, id: string): Entry<K> | undefined {
    const found = this.#raw(kind, id)
    return found && found.state !== 'removed' ? this.#parse(kind, id, found.whole) : undefined
  }

  /** Those of the ids that there are, in the order of the ids. */
  some<K extends Kind>(kind: K, ids: Iterable<string | undefined>): Entry<K>[] {
    return [...new Set(ids)].flatMap((id) => (id === undefined ? [] : (this.one(kind, id) ?? [])))
  }

  /** Every record of a kind, by id, the retired too: for kinds of which there are few, and for exports. */
  all<K extends Kind>(kind: K): Entry<K>[] {
    return this.some(kind, this.ids(kind))
  }

  ids(kind: Kind): string[] {
    return prepared(this.#db, `SELECT id FROM record WHERE kind = ? AND state <> 'removed' ORDER BY id`)
      .pluck()
      .all(kind) as string[]
  }

  /** Whether there is or was such a record. */
  known(kind: Kind, id: string): boolean {
    return this.#versions.last(kind, id) !== undefined
  }

  list(query: RecordQuery): { total: number; rows: RecordLine[] } {
    return listRecords(this.#db, query)
  }

  /** Every stored version of one record, the oldest first. */
  versions<K extends Kind>(kind: K, id: string): EntryVersion<Entry<K>>[] {
    return this.#versions.all(kind, id).map(({ rev, utcUs, who, station, why, state, whole }) => ({
      ...{ rev, utcUs, who, station, why, state },
      value: state === 'removed' ? undefined : this.#parse(kind, id, whole),
    }))
  }

  /**
   * What an entry of the ledger has as its old or new: the text itself, or the version it names, whole, as JSON; null
   * where the record was taken away.
   */
  toldBy(text: string | null): string | null {
    if (!text?.startsWith(BY_HASH)) return text
    const whole = this.#versions.whole(text.slice(BY_HASH.length))
    if (!whole) return text
    return whole.state !== 'removed' ? JSON.stringify(whole.whole) : null
  }

  verify(): ReturnType<Versions['verify']> {
    return this.#versions.verify()
  }

  /** Whether rows were made by another form of the program, or not at all. */
  get rowsAreOld(): boolean {
    return this.#oldKinds().length > 0
  }

  /** Makes the rows anew of every kind whose rows have an older form. */
  renewRows(): void {
    for (const kind of this.#oldKinds())
      inTransaction(this.#db, () => {
        for (const id of this.#versions.ids(kind)) this.#renew(kind, id)
        prepared(this.#db, 'INSERT OR REPLACE INTO record_kind VALUES (?, ?)').run(kind, KINDS[kind].rowForm)
      })
  }

  #renew(kind: Kind, id: string): void {
    const last = this.#versions.head(kind, id)
    if (last) writeCurrent(this.#db, KINDS[kind], { ...last, kind, id })
  }

  #oldKinds(): Kind[] {
    const rows = prepared(this.#db, 'SELECT kind, row_form FROM record_kind').raw().all() as [
      string,
      number,
    ][]
    const forms = new Map(rows)
    return Object.keys(KINDS)
      .filter(isKind)
      .filter((kind) => forms.get(kind) !== KINDS[kind].rowForm)
  }

  /** From the rows; from the versions where a row is damaged. */
  #raw(kind: Kind, id: string): { state: RecordState; whole: Whole } | undefined {
    try {
      return readCurrent(this.#db, kind, id)
    } catch (fault) {
      if (!(fault instanceof SyntaxError)) throw fault
      return this.#versions.head(kind, id)
    }
  }

  /** Sides of a fork beside the one that holds, where all of them came out alike: the next save follows them all. */
  #alike(kind: Kind, id: string): WholeVersion[] {
    if (!this.#versions.isForked(kind, id)) return []
    const [held, ...others] = this.#versions.leaves(kind, id)
    const same = ({ state, whole }: WholeVersion) =>
      state === held?.state && isDeepStrictEqual(whole, held.whole)
    return others.every(same) ? others : []
  }

  #parse<K extends Kind>(kind: K, id: string, whole: Whole): Entry<K> {
    const parsed = KINDS[kind].schema.safeParse(whole)
    if (!parsed.success) {
      const [issue] = parsed.error.issues
      throw new StoreError(
        'damaged',
        said('record-of-wrong-form', {
          kind: String(kind),
          id,
          db: this.#db.name,
          path: String(issue?.path.join('.')),
          said: String(issue?.message),
        }),
        { kind, id },
      )
    }
    return parsed.data as Entry<K>
  }

  #setState(kind: Kind, id: string, state: RecordState, act: Act): void {
    inTransaction(this.#db, () => {
      const before = this.#raw(kind, id)
      if (!before || before.state === 'removed')
        throw new StoreError('not-found', said('no-such-record', { kind, id }), { kind, id })
      this.#append({ kind, id, before: before.whole, change: { state }, state, done: DONE[state] }, act)
    })
  }

  #append({ kind, id, before, change, state, done, settles }: Appended, { who, why }: Act): void {
    const utcUs = this.#now()
    const last = this.#versions.last(kind, id)
    const station = this.#station()
    const text = JSON.stringify(change)
    const version = { kind, id, utcUs, who, station, why, change: text }
    const { rev, hash } = this.#versions.append(version, settles)
    writeCurrent(this.#db, KINDS[kind], { kind, id, rev, utcUs, state, whole: applyChange(before, change) })
    this.#ledger.append(
      {
        who,
        what: `${kind} ${done}`,
        subject: id,
        old: last ? BY_HASH + last.hash : null,
        new: BY_HASH + hash,
        why,
      },
      utcUs,
    )
  }
}
