import { createHash } from 'node:crypto'
import { plainId } from '../../app/base/plain-id.ts'
import { utcDay } from '../../app/base/times.ts'
import { said } from '../../app/messages/said.ts'
import { type Person, RIGHTS } from '../../app/records/person.ts'
import { StoreError } from './errors.ts'
import type { Ledger } from './ledger.ts'
import type { Hashed } from './password.ts'
import type { Act, Records } from './records/records.ts'
import { type Db, inTransaction } from './sqlite.ts'

interface Parts {
  ledger: Ledger
  records: Records
  now: () => number
}

const digest = (token: string): Buffer => createHash('sha256').update(token).digest()

/** The people of a station: who there is, their passwords, and the windows that stay signed in. */
export class People {
  readonly #db: Db
  readonly #ledger: Ledger
  readonly #records: Records
  readonly #now: () => number

  constructor(db: Db, { ledger, records, now }: Parts) {
    this.#db = db
    this.#ledger = ledger
    this.#records = records
    this.#now = now
  }

  /** Everybody who is or was here. */
  all(): Person[] {
    return this.#records.all('person')
  }

  /** Who works here now; of those who stand for a person that tries the lab, too. */
  open(): Person[] {
    return this.all().filter(({ closed }) => closed === undefined)
  }

  /** Whether a real person has been entered. */
  get known(): boolean {
    return this.all().some(({ practice }) => !practice)
  }

  one(id: string): Person | undefined {
    return this.#records.one('person', id)
  }

  /** By name as somebody types it: case and outer blanks do not matter. */
  named(name: string): Person | undefined {
    const wanted = plain(name)
    return this.all().find((person) => plain(person.name) === wanted)
  }

  /**
   * Enters a person or changes one. Throws StoreError 'refused' where the name is another's, or nobody would be left who
   * can see to the station.
   */
  save(person: Person, act: Act, password?: Hashed): void {
    const other = this.named(person.name)
    if (other && other.id !== person.id)
      throw new StoreError('refused', said('person-named-already', { person: person.name }))
    const known = this.one(person.id)
    if (known && known.name !== person.name) throw new StoreError('refused', said('name-stays', {}))
    inTransaction(this.#db, () => {
      this.#records.put('person', person.id, person, act)
      if (password) this.#put(person.id, password)
      if (!person.practice) this.#closePractice(act)
      if (
        this.known &&
        !this.open().some(({ rights, practice }) => !practice && rights.includes('administer'))
      )
        throw new StoreError('refused', said('last-administrator', {}))
      if (person.closed !== undefined) this.#forget(person.id)
    })
  }

  /** Throws StoreError 'not-found'. */
  setPassword(id: string, password: Hashed, act: Act): void {
    const person = this.one(id)
    if (!person) throw new StoreError('not-found', said('no-such-person', { id }))
    inTransaction(this.#db, () => {
      this.#put(id, password)
      this.#forget(id)
      this.tell({ ...act, what: 'password set', subject: id })
    })
  }

  passwordOf(id: string): Hashed | undefined {
    return this.#db.prepare('SELECT form, salt, hash FROM password WHERE person = ?').get(id) as
      | Hashed
      | undefined
  }

  /** A line of the ledger about people, inside the caller's transaction or one of its own. */
  tell(entry: { who: string; what: string; subject: string; why: string }): void {
    const append = () => this.#ledger.append({ ...entry, old: null, new: null }, this.#now())
    if (this.#db.inTransaction) append()
    else inTransaction(this.#db, append)
  }

  /** Keeps a window signed in; only a digest of its token is kept. */
  staySignedIn(token: string, person: string, forUs: number): void {
    const now = this.#now()
    this.#db.prepare('DELETE FROM sign_in WHERE until_utc_us < ?').run(now)
    this.#db
      .prepare('INSERT OR REPLACE INTO sign_in VALUES (?, ?, ?)')
      .run(digest(token), person, now + forUs)
  }

  /** The person who stays signed in with this token. */
  signedIn(token: string): string | undefined {
    return this.#db
      .prepare('SELECT person FROM sign_in WHERE digest = ? AND until_utc_us > ?')
      .pluck()
      .get(digest(token), this.#now()) as string | undefined
  }

  signOut(token: string): void {
    this.#db.prepare('DELETE FROM sign_in WHERE digest = ?').run(digest(token))
  }

  /** The custodian that older stations had becomes a person with every right, with the password as it was. */
  takeCustodian(): void {
    const old = this.#db.prepare('SELECT name, salt, hash FROM custodian').get() as
      | { name: string; salt: Buffer; hash: Buffer }
      | undefined
    if (!old) return
    inTransaction(this.#db, () => {
      const name = old.name.trim() || 'Custodian'
      if (!this.named(name))
        this.#records.put(
          'person',
          this.freshId(name),
          { id: this.freshId(name), name, rights: [...RIGHTS] },
          { who: name, why: 'The custodian of the register is a person with every right now.' },
        )
      this.#put(this.named(name)!.id, { form: 'scrypt 16 8 1', salt: old.salt, hash: old.hash })
      this.#db.exec('DELETE FROM custodian')
    })
  }

  /** The day on which a person who is closed now leaves. */
  today(): string {
    return utcDay(this.#now())
  }

  /** An id for a new person. */
  freshId(name: string): string {
    const stem = plainId(name.normalize('NFKD'), 40) || 'person'
    let id = stem
    for (let n = 2; this.#records.known('person', id); n++) id = `${stem}-${n}`
    return id
  }

  #put(person: string, { form, salt, hash }: Hashed): void {
    this.#db.prepare('INSERT OR REPLACE INTO password VALUES (?, ?, ?, ?)').run(person, form, salt, hash)
  }

  #forget(person: string): void {
    this.#db.prepare('DELETE FROM sign_in WHERE person = ?').run(person)
  }

  /** Whoever tried the lab in a box is let go when a real person comes. */
  #closePractice(act: Act): void {
    const closed = this.today()
    for (const person of this.open().filter(({ practice }) => practice)) {
      this.#records.put(
        'person',
        person.id,
        { ...person, closed },
        { ...act, why: 'The first person is entered.' },
      )
      this.#forget(person.id)
    }
  }
}

const plain = (name: string): string => name.normalize('NFC').trim().toLowerCase()
