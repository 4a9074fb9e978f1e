import type pg from 'pg'
import { first } from '../../../app/base/lists.ts'

/** The form of the archive's tables that this program knows. */
const FORM = 2

/** Stands for the station of rows that were sent before stations had an identity. */
export const NO_STATION = '00000000-0000-0000-0000-000000000000'

/** Tables of the archive. Every key begins with the station: two of them may call a session by the same minute. */
const TABLES = `
CREATE TABLE stillpoint_session (
  session text NOT NULL, name text NOT NULL, operator text NOT NULL, kind text NOT NULL, started timestamptz NOT NULL,
  ended timestamptz, ending text, info jsonb NOT NULL, station uuid NOT NULL, PRIMARY KEY (station, session));
CREATE TABLE stillpoint_reading (
  session text NOT NULL, seq bigint NOT NULL, utc timestamptz NOT NULL, session_time_us bigint NOT NULL,
  channel text NOT NULL, raw text NOT NULL, value numeric, unit text NOT NULL, measuring_current_ma double precision,
  marks text[] NOT NULL, station uuid NOT NULL, PRIMARY KEY (station, session, seq));
CREATE TABLE stillpoint_event (
  session text NOT NULL, n bigint NOT NULL, utc timestamptz NOT NULL, kind text NOT NULL, who text NOT NULL,
  subject text, words text NOT NULL, data jsonb NOT NULL, station uuid NOT NULL, PRIMARY KEY (station, session, n));
CREATE TABLE stillpoint_point (
  session text NOT NULL, n bigint NOT NULL, point jsonb NOT NULL, station uuid NOT NULL,
  PRIMARY KEY (station, session, n));`

const withStation = (table: string, key: string) => `
ALTER TABLE ${table} ADD COLUMN station uuid NOT NULL DEFAULT '${NO_STATION}';
ALTER TABLE ${table} ALTER COLUMN station DROP DEFAULT;
ALTER TABLE ${table} DROP CONSTRAINT ${table}_pkey;
ALTER TABLE ${table} ADD PRIMARY KEY (station, ${key});`

/** From the form whose keys did not know the station. What stands there stays, under no station, until its own sends it again. */
const FROM_FORM_1 =
  withStation('stillpoint_session', 'session') +
  withStation('stillpoint_reading', 'session, seq') +
  withStation('stillpoint_event', 'session, n') +
  withStation('stillpoint_point', 'session, n')

/** Two stations that make or change the tables at the same moment would trip over one another. */
const LOCK = 5374507
/** Changing the keys of a large archive takes its time, ms. */
const CHANGE_MS = 3_600_000

/**
 * Makes the tables where they are missing, and brings those of an older form up. Returns whether there are rows of before
 * stations had an identity. Throws where the archive has a newer form.
 */
export async function prepareTables(client: pg.Client): Promise<boolean> {
  await client.query({ text: 'BEGIN' })
  await client.query(lasting(`SELECT pg_advisory_xact_lock(${LOCK})`))
  const { rows } = await client.query<{ marked: boolean; tables: boolean }>(
    `SELECT to_regclass('stillpoint_archive') IS NOT NULL AS marked, to_regclass('stillpoint_session') IS NOT NULL AS tables`,
  )
  const { marked, tables } = first(rows)
  if (marked) await refuseNewer(client)
  else {
    await client.query(lasting(tables ? FROM_FORM_1 : TABLES))
    await client.query(
      `CREATE TABLE stillpoint_archive (one int PRIMARY KEY CHECK (one = 1), form int NOT NULL);
       INSERT INTO stillpoint_archive VALUES (1, ${FORM})`,
    )
  }
  await client.query('COMMIT')
  const old = await client.query(`SELECT 1 FROM stillpoint_session WHERE station = '${NO_STATION}' LIMIT 1`)
  return old.rows.length > 0
}

async function refuseNewer(client: pg.Client): Promise<void> {
  const { rows } = await client.query<{ form: number }>('SELECT form FROM stillpoint_archive')
  const form = rows[0]?.form ?? FORM
  if (form > FORM) {
    throw new Error(
      `the archive has form ${form}, this station knows up to ${FORM}: bring this station up to the version of the others`,
    )
  }
}

// The driver takes the time limit of one query beside its text; its typings do not say so.
const lasting = (text: string) => ({ text, query_timeout: CHANGE_MS }) as pg.QueryConfig
