import pg from 'pg'
import type { ForwardTarget, Parcel } from './target.ts'

/** Tables of the archive. Made where they are missing; never changed where they are there. */
const TABLES = `
CREATE TABLE IF NOT EXISTS stillpoint_session (
  session text PRIMARY KEY, name text NOT NULL, operator text NOT NULL, kind text NOT NULL, started timestamptz NOT NULL,
  ended timestamptz, ending text, info jsonb NOT NULL);
CREATE TABLE IF NOT EXISTS stillpoint_reading (
  session text NOT NULL, seq bigint NOT NULL, utc timestamptz NOT NULL, session_time_us bigint NOT NULL,
  channel text NOT NULL, raw text NOT NULL, value numeric, unit text NOT NULL, measuring_current_ma double precision,
  marks text[] NOT NULL, PRIMARY KEY (session, seq));
CREATE TABLE IF NOT EXISTS stillpoint_event (
  session text NOT NULL, n bigint NOT NULL, utc timestamptz NOT NULL, kind text NOT NULL, who text NOT NULL,
  subject text, words text NOT NULL, data jsonb NOT NULL, PRIMARY KEY (session, n));
CREATE TABLE IF NOT EXISTS stillpoint_point (
  session text NOT NULL, n bigint NOT NULL, point jsonb NOT NULL, PRIMARY KEY (session, n));`

/** Two stations that make the tables at the same moment would trip over one another. */
const TABLES_LOCK = 5374507

/** PostgreSQL text cannot hold the zero character; it shows as its picture. */
const text = (value: string) => value.replaceAll('\0', '\u2400')
const json = (value: unknown) => JSON.stringify(value).replaceAll('\\u0000', '\\u2400')
const seconds = (utcUs: number) => utcUs / 1e6

/**
 * Archive in a PostgreSQL database. A parcel is one transaction, and each row has a key of the session and its number,
 * so a parcel that comes again after a break changes nothing.
 */
export class PostgresTarget implements ForwardTarget {
  readonly #url: string
  #client: pg.Client | undefined

  constructor(url: string) {
    this.#url = url
  }

  async send(parcel: Parcel): Promise<void> {
    const client = await this.#connect()
    try {
      await client.query('BEGIN')
      await insert(client, parcel)
      await client.query('COMMIT')
    } catch (fault) {
      // Whatever state the connection is in, the next try begins with a new one.
      this.#client = undefined
      await client.end().catch(() => undefined)
      throw fault
    }
  }

  async close(): Promise<void> {
    const client = this.#client
    this.#client = undefined
    await client?.end()
  }

  async #connect(): Promise<pg.Client> {
    if (this.#client) return this.#client
    const client = new pg.Client({
      connectionString: this.#url,
      connectionTimeoutMillis: 10_000,
      query_timeout: 60_000,
    })
    // A connection that breaks while it is idle is told here; the next parcel opens a new one.
    client.on('error', () => {
      if (this.#client === client) this.#client = undefined
    })
    await client.connect()
    try {
      await client.query(`SELECT pg_advisory_lock(${TABLES_LOCK})`)
      await client.query(TABLES)
      await client.query(`SELECT pg_advisory_unlock(${TABLES_LOCK})`)
    } catch (fault) {
      await client.end().catch(() => undefined)
      throw fault
    }
    this.#client = client
    return client
  }
}

async function insert(client: pg.Client, { session, readings, events, points }: Parcel): Promise<void> {
  await client.query(
    `INSERT INTO stillpoint_session VALUES ($1, $2, $3, $4, to_timestamp($5), to_timestamp($6), $7, $8)
     ON CONFLICT (session) DO UPDATE SET ended = excluded.ended, ending = excluded.ending, info = excluded.info`,
    [
      session.id,
      text(session.name),
      text(session.operator),
      session.kind,
      seconds(session.startedUtcUs),
      session.endedUtcUs === null ? null : seconds(session.endedUtcUs),
      session.ending,
      json(session),
    ],
  )
  if (readings.length > 0)
    await client.query(
      `INSERT INTO stillpoint_reading
       SELECT $1, seq, timestamptz 'epoch' + utc_us * interval '1 microsecond', mono_us, channel, raw, value, unit, current,
         string_to_array(marks, ' ')
       FROM unnest($2::bigint[], $3::bigint[], $4::bigint[], $5::text[], $6::text[], $7::numeric[], $8::text[],
         $9::double precision[], $10::text[]) AS r (seq, utc_us, mono_us, channel, raw, value, unit, current, marks)
       ON CONFLICT (session, seq) DO NOTHING`,
      [
        session.id,
        readings.map((r) => r.seq),
        readings.map((r) => r.utcUs),
        readings.map((r) => r.monoUs),
        readings.map((r) => text(r.channel)),
        readings.map((r) => text(r.raw)),
        readings.map((r) => r.value),
        readings.map((r) => r.unit),
        readings.map((r) => r.currentMa),
        readings.map((r) => r.marks.join(' ')),
      ],
    )
  for (const e of events)
    await client.query(
      `INSERT INTO stillpoint_event VALUES ($1, $2, timestamptz 'epoch' + $3::bigint * interval '1 microsecond', $4, $5, $6, $7, $8)
       ON CONFLICT (session, n) DO NOTHING`,
      [
        session.id,
        e.n,
        e.utcUs,
        e.kind,
        text(e.who),
        e.subject === null ? null : text(e.subject),
        text(e.words),
        json(e.data),
      ],
    )
  for (const { n, point } of points)
    await client.query(
      'INSERT INTO stillpoint_point VALUES ($1, $2, $3) ON CONFLICT (session, n) DO NOTHING',
      [session.id, n, json(point)],
    )
}
