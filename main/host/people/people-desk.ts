import { randomBytes } from 'node:crypto'
import { setTimeout as pause } from 'node:timers/promises'
import { said } from '../../../app/messages/said.ts'
import { type Person, RIGHTS, type Right } from '../../../app/records/person.ts'
import { StationError } from '../../station/station-error.ts'
import { hashPassword, isPassword } from '../../store/password.ts'
import type { StationStore } from '../../store/station-store.ts'
import { Attempts } from './attempts.ts'

const DAY_US = 86_400e6
/** How long a window of this computer stays signed in after it was used last, and one that was not asked to stay, us. */
const STAY_US = 90 * DAY_US
const SHIFT_US = 0.5 * DAY_US
/** Length of a password, characters. Long ones are what counts: NIST SP 800-63B-4, 3.1.1.2, asks for 15 where nothing else is asked. */
export const SHORTEST_PASSWORD = 12
/** Passwords that may wait to be hashed: each takes a tenth of a second. */
const MOST_WAITING = 8

export interface SignedIn {
  person: Person
  /** Shown again by the same window when it comes back. */
  token: string
}

/** Lets people in, and sees to who they are. */
export class PeopleDesk {
  readonly #store: StationStore
  readonly #attempts = new Attempts()
  #hashing: Promise<unknown> = Promise.resolve()
  #waiting = 0

  constructor(store: StationStore) {
    this.#store = store
  }

  /** The person, as long as there is one of this id that works here. */
  who(id: string | undefined): Person | undefined {
    const person = id === undefined ? undefined : this.#store.people.one(id)
    return person?.closed === undefined ? person : undefined
  }

  /** Who stands in for a person while nobody has been entered: whoever tries the lab in a box. */
  get practice(): Person | undefined {
    const { people } = this.#store
    return people.known ? undefined : people.open().find(({ practice }) => practice)
  }

  /** Lets whoever tries the lab in a box do everything, without being asked anything; not where a person is known. */
  practise(name: string): void {
    const { people } = this.#store
    if (people.known || this.practice) return
    const id = people.freshId(name)
    people.save(
      { id, name, rights: [...RIGHTS], practice: true },
      { who: 'lab in a box', why: 'Stands for whoever tries the lab in a box.' },
    )
  }

  /** The first person of a station, who may do everything. Throws StationError 'refused' where there is one already. */
  async enterFirst(name: string, password: string): Promise<SignedIn> {
    const hashed = await this.#hash(password)
    const { people } = this.#store
    if (people.known) throw new StationError('refused', said('people-known-already', {}))
    const id = people.freshId(name)
    const person = { id, name: name.trim(), rights: [...RIGHTS] }
    people.save(person, { who: person.name, why: 'The first person of this station.' }, hashed)
    return { person, token: this.#stay(id, STAY_US) }
  }

  /** `from`: what the attempt comes from, an address or a window. Undefined where name or password are wrong. */
  async signIn(
    { name, password, stay }: { name: string; password: string; stay: boolean },
    from: unknown,
  ): Promise<SignedIn | undefined> {
    const person = await this.check(name, password, from)
    return person && { person, token: this.#stay(person.id, stay ? STAY_US : SHIFT_US) }
  }

  /** The person whose name and password these are. Wrong ones are answered later and later, and told in the ledger. */
  async check(name: string, password: string, from: unknown): Promise<Person | undefined> {
    const answered = this.#attempts.begin(from)
    if (!answered) throw new StationError('refused', said('sign-in-under-way', {}))
    try {
      const { people } = this.#store
      const person = this.who(people.named(name)?.id)
      const kept = person && people.passwordOf(person.id)
      const right = await this.#inTurn(() => isPassword(password, kept))
      if (right && person) return person
      const { holdMs, words } = this.#attempts.wrong(person?.id ?? '')
      if (words) {
        const of = person?.name ?? 'a name that is not known'
        people.tell({
          who: 'station',
          what: 'sign-in refused',
          subject: person?.id ?? 'people',
          why: `${words} For ${of}, ${placeOf(from)}.`,
        })
      }
      await pause(holdMs)
      return undefined
    } finally {
      answered()
    }
  }

  comeBack(token: string): Person | undefined {
    return this.who(this.#store.people.signedIn(token))
  }

  signOut(token: string): void {
    this.#store.people.signOut(token)
  }

  async changeOwn(person: Person, old: string, next: string, from: unknown): Promise<string | undefined> {
    if ((await this.check(person.name, old, from)) === undefined) return undefined
    const hashed = await this.#hash(next)
    this.#store.people.setPassword(person.id, hashed, { who: person.name, why: 'Changed by the person.' })
    return this.#stay(person.id, STAY_US)
  }

  /** Enters a person or changes one, with a password where one is given. */
  async save(
    wanted: {
      id?: string | undefined
      name: string
      rights: Right[]
      position?: string | undefined
      closed: boolean
    },
    password: string | undefined,
    act: { who: string; why: string },
  ): Promise<Person> {
    const { people } = this.#store
    const old = wanted.id === undefined ? undefined : people.one(wanted.id)
    if (!old && password === undefined) throw new StationError('refused', said('first-password-missing', {}))
    const hashed = password === undefined ? undefined : await this.#hash(password)
    const id = old?.id ?? people.freshId(wanted.name)
    const person: Person = {
      id,
      name: wanted.name.trim(),
      rights: wanted.rights,
      ...(wanted.position && { position: wanted.position }),
      ...(wanted.closed && { closed: old?.closed ?? people.today() }),
    }
    people.save(person, act, old ? undefined : hashed)
    if (old && hashed) people.setPassword(id, hashed, act)
    return person
  }

  #stay(person: string, forUs: number): string {
    const token = randomBytes(24).toString('base64url')
    this.#store.people.staySignedIn(token, person, forUs)
    return token
  }

  #hash(password: string) {
    if ([...password].length < SHORTEST_PASSWORD)
      throw new StationError('refused', said('password-too-short', { least: SHORTEST_PASSWORD }))
    return this.#inTurn(() => hashPassword(password))
  }

  /** One after the other: each takes a helper thread and 64 MB. */
  async #inTurn<T>(work: () => Promise<T>): Promise<T> {
    if (this.#waiting >= MOST_WAITING) throw new StationError('refused', said('too-many-sign-in', {}))
    this.#waiting += 1
    const mine = this.#hashing.then(work, work)
    this.#hashing = mine
    try {
      return await mine
    } finally {
      this.#waiting -= 1
    }
  }
}

const placeOf = (from: unknown) =>
  typeof from === 'string' ? `from ${from}` : "at the station's own computer"
