import type pg from 'pg'
import { first } from '../../../app/base/lists.ts'
import { said } from '../../../app/messages/said.ts'
import { LaboratoryError } from './laboratory-error.ts'

/** The form of the laboratory's tables that this program knows. */
const FORM = 1

/** Whoever makes the tables or adds versions does it alone, so that their numbers come in the order of their commits. */
export const ALONE = 'SELECT pg_advisory_xact_lock(5374508)'
/** Channel on which every station hears that something was added. */
export const CHANNEL = 'stillpoint_laboratory'

/** In place of a station's next word in `bench`: a person has said that this folder is it, whatever word stands there. */
export const TAKE = 'take'

/**
 * What the stations of a laboratory share. A version is kept as the text that was written, so that its hash can be taken again.
 * A row of `number` is a certificate number kept for one station, and given once it has a session.
 */
const TABLES = `
CREATE SCHEMA stillpoint_laboratory;
SET LOCAL search_path TO stillpoint_laboratory;
CREATE TABLE laboratory (one int PRIMARY KEY CHECK (one = 1), form int NOT NULL, id uuid NOT NULL);
CREATE TABLE bench (
  station uuid PRIMARY KEY, name text NOT NULL, token uuid NOT NULL, seen timestamptz NOT NULL, state text);
CREATE TABLE version (
  seq bigserial UNIQUE, hash text PRIMARY KEY CHECK (hash ~ '^[0-9a-f]{64}$'), kind text NOT NULL, station text NOT NULL,
  body text NOT NULL);
CREATE TABLE number (
  series text NOT NULL, n int NOT NULL CHECK (n > 0), station uuid NOT NULL, session text, thermometer text,
  given_utc_us bigint, PRIMARY KEY (series, n), CHECK ((session IS NULL) = (given_utc_us IS NULL)));
CREATE UNIQUE INDEX number_of_item ON number (station, session, thermometer) WHERE session <> '';
CREATE TABLE session (
  seq bigserial UNIQUE, station uuid NOT NULL, session text NOT NULL, started_utc_us bigint NOT NULL, row text NOT NULL,
  sketch bytea NOT NULL, words text NOT NULL, PRIMARY KEY (station, session));
CREATE TABLE file (
  station uuid NOT NULL, session text NOT NULL, head text NOT NULL, batch int NOT NULL, sha256 text NOT NULL,
  bytes bigint NOT NULL, PRIMARY KEY (station, session));
CREATE TABLE file_piece (
  station uuid NOT NULL, session text NOT NULL, n int NOT NULL, bytes bytea NOT NULL, PRIMARY KEY (station, session, n),
  FOREIGN KEY (station, session) REFERENCES file ON DELETE CASCADE);
CREATE FUNCTION stays() RETURNS trigger LANGUAGE plpgsql AS
  $$ BEGIN RAISE EXCEPTION 'versions of records are added to and never changed'; END $$;
CREATE TRIGGER version_stays BEFORE UPDATE OR DELETE ON version FOR EACH ROW EXECUTE FUNCTION stays();`

/**
 * Signed files, as they were signed: of a session by its station and id, of others by nobody's UUID. `before` is the hash of the
 * file it was made from, without its time stamp. Added to form 1: a station that does not know it goes on as before.
 */
const PAPER = `
CREATE TABLE IF NOT EXISTS stillpoint_laboratory.paper (
  seq bigserial UNIQUE, station uuid NOT NULL, place text NOT NULL, name text NOT NULL, by uuid NOT NULL, sha256 text NOT NULL,
  before text NOT NULL, bytes bytea NOT NULL, PRIMARY KEY (station, place, name))`

/** Makes the tables where there are none. Returns the UUID of this database. Throws LaboratoryError 'other-form'. */
export async function prepareTables(client: pg.Client): Promise<string> {
  await client.query('BEGIN')
  await client.query(ALONE)
  const { rows } = await client.query<{ there: boolean }>(
    `SELECT to_regclass('stillpoint_laboratory.laboratory') IS NOT NULL AS there`,
  )
  if (!first(rows).there) {
    await client.query(TABLES)
    await client.query(`INSERT INTO laboratory VALUES (1, ${FORM}, gen_random_uuid())`)
  }
  await client.query('COMMIT')
  const found = await client.query<{ form: number; id: string }>(
    'SELECT form, id FROM stillpoint_laboratory.laboratory',
  )
  const { form, id } = first(found.rows)
  if (form !== FORM)
    throw new LaboratoryError(
      'other-form',
      form > FORM
        ? said('database-newer', { form, known: FORM })
        : said('database-older', { form, known: FORM }),
    )
  await client.query(`BEGIN; ${ALONE}; ${PAPER}; COMMIT`)
  await client.query('SET search_path TO stillpoint_laboratory')
  return id
}
