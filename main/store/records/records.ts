import type { RecordLine } from '../../../app/contract/pages.ts'
import { StoreError } from '../errors.ts'
import type { Ledger } from '../ledger.ts'
import { type Db, inTransaction, prepared } from '../sqlite.ts'
import { applyChange, type Change, changeOf, type RecordState, type Whole } from './change.ts'
import { readCurrent, writeCurrent } from './current.ts'
import { type Entry, isKind, KINDS, type Kind } from './kinds.ts'
import { listRecords, type RecordQuery } from './query.ts'
import { Versions } from './versions.ts'

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
  why: string
  state: RecordState
  value: T | undefined
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
    this.#append(kind, id, kept?.whole, { ...change }, change.state ?? before?.state ?? 'kept', 'saved', act)
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
    return this.#versions.all(kind, id).map(({ rev, utcUs, who, why, state, whole }) => ({
      ...{ rev, utcUs, who, why, state },
      value: state === 'removed' ? undefined : this.#parse(kind, id, whole),
    }))
  }

  /**
   * What an entry of the ledger has as its old or new: the text itself, or the version it names, whole, as JSON; null
   * where the record was taken away.
   */
  toldBy(text: string | null): string | null {
    if (!text?.startsWith(BY_HASH)) return text
    const version = this.#versions.byHash(text.slice(BY_HASH.length))
    if (!version) return text
    const whole = this.#versions.all(version.kind, version.id, version.rev).at(-1)
    return whole && whole.state !== 'removed' ? JSON.stringify(whole.whole) : null
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
    const last = this.#versions.all(kind, id).at(-1)
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
      return this.#versions.all(kind, id).at(-1)
    }
  }

  #parse<K extends Kind>(kind: K, id: string, whole: Whole): Entry<K> {
    const parsed = KINDS[kind].schema.safeParse(whole)
    if (!parsed.success) {
      const [issue] = parsed.error.issues
      throw new StoreError(
        'damaged',
        `The ${kind} "${id}" in ${this.#db.name} does not have its form: ${issue?.path.join('.')} ${issue?.message}.`,
        { kind, id },
      )
    }
    return parsed.data as Entry<K>
  }

  #setState(kind: Kind, id: string, state: RecordState, act: Act): void {
    inTransaction(this.#db, () => {
      const before = this.#raw(kind, id)
      if (!before || before.state === 'removed')
        throw new StoreError('not-found', `There is no ${kind} "${id}".`, { kind, id })
      this.#append(kind, id, before.whole, { state }, state, DONE[state], act)
    })
  }

  #append(
    kind: Kind,
    id: string,
    before: Whole | undefined,
    change: Change,
    state: RecordState,
    done: string,
    { who, why }: Act,
  ): void {
    const utcUs = this.#now()
    const last = this.#versions.last(kind, id)
    const station = this.#station()
    const text = JSON.stringify(change)
    const { rev, hash } = this.#versions.append({ kind, id, utcUs, who, station, why, change: text })
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
