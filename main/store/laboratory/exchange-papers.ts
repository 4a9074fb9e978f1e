import { createHash } from 'node:crypto'
import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs'
import { basename, join } from 'node:path'
import { PRIVATE_FILE, privateFolder } from '../private.ts'
import { prepared } from '../sqlite.ts'
import { writeWhole } from '../write-whole.ts'
import type { Connection } from './connection.ts'
import type { LocalCopy } from './local-copy.ts'
import { ownIdOf } from './session-name.ts'
import { ALONE, CHANNEL } from './tables.ts'

/** Of what belongs to no session: certificates that were read in, and those of work in the register. */
const NO_STATION = '00000000-0000-0000-0000-000000000000'
const READ_IN = 'in'
/** Places whose files are looked at again whenever something was saved; the others at the beginning of each connection. */
const RECENT = 50
/** A signed file is some hundred kilobytes; what is larger than this is none, bytes. */
const LARGEST = 32 << 20

type Client = Connection['client']
type Key = readonly [station: string, place: string]

interface Told {
  name: string
  sha256: string
  before: string
}

const sha256 = (bytes: Uint8Array) => createHash('sha256').update(bytes).digest('hex')

/**
 * Signed files (certificates of sessions and of work in the register, signatures, time stamps, certificates that were read in)
 * go to the laboratory's database as they were signed. Those of a session come with its file; the others come to every bench.
 * A file takes the place of another only where that one is the file it was made from: what two benches signed stays with each.
 */
export class PaperExchange {
  readonly #local: LocalCopy
  /** What of a place the database has, by place: names, sizes and times of its files. */
  readonly #told = new Map<string, string>()
  readonly #clashes = new Map<string, string>()
  #pulled = 0

  constructor(local: LocalCopy) {
    this.#local = local
  }

  get troubles(): string[] {
    return [...this.#clashes.values()]
  }

  /** With a connection everything is looked at once. */
  begin(): void {
    this.#told.clear()
    this.#pulled = 0
  }

  /** Gives what was signed or read in here and the database has not got. */
  async push(to: Connection): Promise<void> {
    const places = prepared(
      this.#local.db,
      'SELECT session FROM certificate GROUP BY session ORDER BY max(given_utc_us) DESC',
    )
      .pluck()
      .all() as string[]
    for (const place of [READ_IN, ...(this.#told.size === 0 ? places : places.slice(0, RECENT))]) {
      const look = this.#lookAt(place)
      if (look === '' || this.#told.get(place) === look) continue
      await this.#give(to, place)
      this.#told.set(place, look)
    }
    this.#told.set(READ_IN, this.#told.get(READ_IN) ?? '')
  }

  /** Takes over what belongs to no session. */
  async pull({ client }: Connection): Promise<void> {
    const { rows } = await client.query<Told & { seq: string; place: string }>(
      'SELECT seq, place, name, sha256, before FROM paper WHERE station = $1 AND seq > $2 ORDER BY seq',
      [NO_STATION, this.#pulled],
    )
    for (const { seq, place, ...told } of rows) {
      await this.#take(client, [NO_STATION, place], place, told)
      this.#pulled = Number(seq)
    }
  }

  /** Takes over what was signed of a session. */
  async bring(client: Client, session: string, key: Key): Promise<void> {
    const { rows } = await client.query<Told>(
      'SELECT name, sha256, before FROM paper WHERE station = $1 AND place = $2',
      [...key],
    )
    for (const told of rows) await this.#take(client, key, session, told)
  }

  async #give(to: Connection, place: string): Promise<void> {
    const key = this.#keyOf(place)
    await to.together(async () => {
      await to.client.query(ALONE)
      const { rows } = await to.client.query<Told & { by: string }>(
        'SELECT name, sha256, before, by FROM paper WHERE station = $1 AND place = $2',
        [...key],
      )
      let given = 0
      for (const name of this.#namesIn(place)) {
        const there = rows.find((row) => row.name === name)
        const bytes = readFileSync(join(this.#folder(place), name))
        const hash = sha256(bytes)
        if (there?.sha256 === hash || there?.before === hash) continue
        if (there && there.by !== this.#local.station) {
          this.#tellClash(place, name, there.by)
          continue
        }
        await to.client.query(
          `INSERT INTO paper (station, place, name, by, sha256, before, bytes) VALUES ($1, $2, $3, $4, $5, '', $6)
             ON CONFLICT (station, place, name) DO UPDATE
             SET seq = nextval('paper_seq_seq'), before = paper.sha256, sha256 = $5, bytes = $6`,
          [...key, name, this.#local.station, hash, bytes],
        )
        given += 1
      }
      if (given === 0) return
      // Who has the session hears of it again, and fetches what was signed of it.
      await to.client.query(
        "UPDATE session SET seq = nextval('session_seq_seq') WHERE station = $1 AND session = $2",
        [...key],
      )
      await to.client.query(`NOTIFY ${CHANNEL}, 'session'`)
    })
  }

  async #take(client: Client, key: Key, place: string, { name, sha256: hash, before }: Told): Promise<void> {
    if (!isFileName(name) || !isFileName(place)) return
    const path = join(this.#folder(place), name)
    const ours = existsSync(path) ? sha256(readFileSync(path)) : undefined
    if (ours === hash) return
    if (ours !== undefined && ours !== before) return
    const { rows } = await client.query<{ bytes: Buffer }>(
      'SELECT bytes FROM paper WHERE station = $1 AND place = $2 AND name = $3 AND sha256 = $4',
      [...key, name, hash],
    )
    const bytes = rows[0]?.bytes
    if (!bytes) return
    if (sha256(bytes) !== hash) {
      this.#clashes.set(
        `${place}/${name}`,
        `The signed file ${name} of ${place} did not come whole from the laboratory's database, so it was not taken over.`,
      )
      return
    }
    privateFolder(this.#folder(place))
    await writeWhole(path, (append) => append(bytes), PRIVATE_FILE)
    this.#clashes.delete(`${place}/${name}`)
  }

  #tellClash(place: string, name: string, by: string): void {
    this.#clashes.set(
      `${place}/${name}`,
      `${name} of ${place} was signed here and at ${this.#local.nameOf(by)}. Both are kept, each where it was signed: withdraw one of them.`,
    )
  }

  #folder(place: string): string {
    return join(this.#local.store.folder, 'certificates', place)
  }

  /** A session by the station that measured it and what that calls it. */
  #keyOf(place: string): Key {
    const row = prepared(this.#local.db, 'SELECT station FROM session WHERE id = ?').pluck().get(place) as
      | string
      | undefined
    if (row === undefined) return [NO_STATION, place]
    const station = row === '' ? this.#local.station : row
    return [station, ownIdOf(place, station)]
  }

  #namesIn(place: string): string[] {
    const folder = this.#folder(place)
    if (!existsSync(folder)) return []
    return readdirSync(folder, { withFileTypes: true })
      .filter((entry) => entry.isFile() && isFileName(entry.name) && !entry.name.endsWith('.part'))
      .map(({ name }) => name)
      .filter((name) => statSync(join(folder, name)).size <= LARGEST)
      .sort()
  }

  #lookAt(place: string): string {
    return this.#namesIn(place)
      .map((name) => {
        const { size, mtimeMs } = statSync(join(this.#folder(place), name))
        return `${name} ${size} ${mtimeMs}`
      })
      .join('\n')
  }
}

/** A name that leads nowhere else. */
const isFileName = (name: string): boolean =>
  name === basename(name) && !name.startsWith('.') && !/[\\:\0]/.test(name)
