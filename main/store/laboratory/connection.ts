import { randomUUID } from 'node:crypto'
import pg from 'pg'
import { first } from '../../../app/base/lists.ts'
import { said } from '../../../app/messages/said.ts'
import { LaboratoryError } from './laboratory-error.ts'
import type { LocalCopy } from './local-copy.ts'
import { CHANNEL, prepareTables, TAKE } from './tables.ts'
import { voidNumbers } from './void-numbers.ts'

/** A server that does not hear of us for this long lets our lock go, ms. */
const SERVER_PATIENCE_MS = 15_000

/** One connection of a station to its laboratory's database, known there as this station and as no other. */
export class Connection {
  readonly client: pg.Client
  /** Clock of the database less this station's, us, when it was connected. */
  clockAheadUs = 0
  /** What it is told: the text of each notification. */
  onNotice: (text: string) => void = () => undefined
  onBroken: () => void = () => undefined

  constructor(url: string) {
    this.client = new pg.Client({
      connectionString: url,
      connectionTimeoutMillis: 10_000,
      query_timeout: 60_000,
      keepAlive: true,
      application_name: 'stillpoint station',
    })
    this.client.on('error', () => this.onBroken())
    this.client.on('end', () => this.onBroken())
    this.client.on('notification', ({ payload }) => this.onNotice(payload ?? ''))
  }

  /**
   * Throws LaboratoryError where the tables have another form or another folder works under this identity; any other fault
   * says that the database is away.
   */
  async open(local: LocalCopy, name: string, now: () => number): Promise<void> {
    await this.client.connect()
    await this.client.query(`SET tcp_keepalives_idle = 5; SET tcp_user_timeout = ${SERVER_PATIENCE_MS}`)
    const base = await prepareTables(this.client)
    await this.#beOnly(local.station)
    await this.#beKnown(local, base, name)
    await this.client.query(`LISTEN ${CHANNEL}`)
    await this.readClock(now)
  }

  async readClock(now: () => number): Promise<void> {
    const before = now()
    const { rows } = await this.client.query<{ utc: string }>(
      'SELECT (extract(epoch FROM clock_timestamp()) * 1000000)::bigint AS utc',
    )
    this.clockAheadUs = Number(first(rows).utc) - (before + now()) / 2
  }

  /** Runs what belongs together; all of it is there afterwards, or nothing. */
  async together<T>(work: () => Promise<T>): Promise<T> {
    await this.client.query('BEGIN')
    try {
      const done = await work()
      await this.client.query('COMMIT')
      return done
    } catch (fault) {
      await this.client.query('ROLLBACK').catch(() => undefined)
      throw fault
    }
  }

  async close(): Promise<void> {
    await this.client.end().catch(() => undefined)
  }

  /** Lets go at once, where the other side does not answer. */
  abandon(): void {
    this.client.connection.stream.destroy(new Error('the station lets go of the database'))
  }

  async #beOnly(station: string): Promise<void> {
    const { rows } = await this.client.query<{ alone: boolean }>(
      'SELECT pg_try_advisory_lock(hashtextextended($1, 5374509)) AS alone',
      [station],
    )
    if (!first(rows).alone)
      throw new LaboratoryError('connected-already', said('identity-connected-already', {}))
  }

  /**
   * Each connection leaves a word that only this folder has. One that comes with an older word is a copy of the folder, or was
   * taken back from a backup.
   */
  async #beKnown(local: LocalCopy, base: string, name: string): Promise<void> {
    local.begin(base)
    const { token, nextToken } = local.state
    const next = randomUUID()
    await this.together(async () => {
      const { rows } = await this.client.query<{ token: string }>(
        'SELECT token FROM bench WHERE station = $1 FOR UPDATE',
        [local.station],
      )
      const known = rows[0]?.token
      if (known !== undefined && known !== token && known !== nextToken && nextToken !== TAKE)
        throw new LaboratoryError('two-identities', said('identity-used-elsewhere', {}))
      if (nextToken === TAKE) await voidNumbers(this.client, local)
      local.setTokens(known ?? token, next)
      await this.client.query(
        `INSERT INTO bench (station, name, token, seen) VALUES ($1, $2, $3, clock_timestamp())
         ON CONFLICT (station) DO UPDATE SET name = $2, token = $3, seen = clock_timestamp()`,
        [local.station, name, next],
      )
    })
    local.setTokens(next, next)
  }
}
