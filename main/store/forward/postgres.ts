import pg from 'pg'
import { at } from '../../../app/base/lists.ts'
import { eventRows, insertSession, pointRows, type Rows, readingRows } from './postgres-rows.ts'
import { NO_STATION, prepareTables } from './postgres-tables.ts'
import { type ForwardTarget, OtherRecord, type Parcel, type Part, type Reach } from './target.ts'

/** How long a server may take to be reached, and to do one of our statements, before the parcel is tried again later. */
const CONNECT_MS = 10_000
const QUERY_MS = 60_000

/**
 * Archive in a PostgreSQL database. A parcel is one transaction, and each row has a key of the station, the session and
 * its number, so a parcel that comes again after a break changes nothing, and one that is not the same is refused.
 */
export class PostgresTarget implements ForwardTarget {
  readonly #url: string
  #client: pg.Client | undefined
  /** Whether rows of before stations had an identity are there: those that are ours are taken over as they come again. */
  #hasOld = false

  constructor(url: string) {
    this.#url = url
  }

  async send(parcel: Parcel): Promise<void> {
    await this.#inTransaction(async (client) => {
      await insertSession(client, parcel)
      for (const rows of [readingRows(parcel), ...eventRows(parcel), ...pointRows(parcel)])
        await this.#insert(client, parcel, rows)
      if (this.#hasOld) await forgetOldSession(client, parcel.session.id)
    })
  }

  async count({ station, session, after, upTo }: Part): Promise<Reach> {
    const { rows } = await this.#inTransaction((client) =>
      client.query<Record<keyof Reach, string>>(
        `SELECT (SELECT count(*) FROM stillpoint_reading WHERE station = $1 AND session = $2 AND seq > $3 AND seq <= $4) AS seq,
          (SELECT count(*) FROM stillpoint_event WHERE station = $1 AND session = $2 AND n > $5 AND n <= $6) AS event,
          (SELECT count(*) FROM stillpoint_point WHERE station = $1 AND session = $2 AND n > $7 AND n <= $8) AS point`,
        [station, session, after.seq, upTo.seq, after.event, upTo.event, after.point, upTo.point],
      ),
    )
    const { seq, event, point } = at(rows, 0)
    return { seq: Number(seq), event: Number(event), point: Number(point) }
  }

  async close(): Promise<void> {
    const client = this.#client
    this.#client = undefined
    await client?.end().catch(() => undefined)
  }

  abandon(): void {
    const client = this.#client
    this.#client = undefined
    client?.connection.stream.destroy(new Error('the station lets go of the database'))
  }

  /** What the rows hold stands there afterwards under their keys. Throws OtherRecord where something else does. */
  async #insert(client: pg.Client, { station, session }: Parcel, rows: Rows): Promise<void> {
    const { table, key, columns, source, same, values, count, what } = rows
    if (count === 0) return
    const parameters = [session.id, ...values]
    const inserted = await client.query(
      `INSERT INTO ${table} (${columns}, station) SELECT r.*, '${station}'::uuid FROM ${source}
       ON CONFLICT (station, session, ${key}) DO NOTHING`,
      parameters,
    )
    const there = `there.session = r.session AND there.${key} = r.${key}`
    if ((inserted.rowCount ?? 0) < count) {
      const other = await client.query<{ first: string | null }>(
        `SELECT min(r.${key}) AS first FROM ${source} JOIN ${table} AS there
         ON there.station = '${station}' AND ${there} WHERE NOT (${same})`,
        parameters,
      )
      const first = at(other.rows, 0).first
      if (first !== null) throw new OtherRecord(otherWords(session.id, what, first))
    }
    if (!this.#hasOld) return
    await client.query(
      `DELETE FROM ${table} AS there USING ${source} WHERE there.station = '${NO_STATION}' AND ${there} AND ${same}`,
      parameters,
    )
  }

  async #inTransaction<T>(work: (client: pg.Client) => Promise<T>): Promise<T> {
    const client = await this.#connect()
    try {
      await client.query('BEGIN')
      const done = await work(client)
      await client.query('COMMIT')
      return done
    } catch (fault) {
      // Whatever state the connection is in, the next try begins with a new one.
      this.abandon()
      throw fault
    }
  }

  async #connect(): Promise<pg.Client> {
    if (this.#client) return this.#client
    const client = new pg.Client({
      connectionString: this.#url,
      connectionTimeoutMillis: CONNECT_MS,
      query_timeout: QUERY_MS,
    })
    // A connection that breaks while it is idle is told here; the next parcel opens a new one.
    client.on('error', () => {
      if (this.#client === client) this.#client = undefined
    })
    this.#client = client
    try {
      await client.connect()
      this.#hasOld = await prepareTables(client)
      return client
    } catch (fault) {
      this.abandon()
      throw fault
    }
  }
}

function otherWords(session: string, what: string, first: string): string {
  return `Session ${session}: ${what} ${first} in the archive is another than ours, though it bears this station's identity. A second station works with a copy of this one's records, or the archive was changed. Nothing there was written over.`
}

/** A session of before is gone when all of its readings, events and points were taken over. */
async function forgetOldSession(client: pg.Client, session: string): Promise<void> {
  const none = (table: string) =>
    `NOT EXISTS (SELECT 1 FROM ${table} WHERE station = '${NO_STATION}' AND session = $1)`
  await client.query(
    `DELETE FROM stillpoint_session WHERE station = '${NO_STATION}' AND session = $1 AND ${none('stillpoint_reading')}
     AND ${none('stillpoint_event')} AND ${none('stillpoint_point')}`,
    [session],
  )
}
