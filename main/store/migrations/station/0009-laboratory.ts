import type { Migration } from '../../migrate.ts'
import { appendOnly } from '../../sqlite.ts'

/** Versions of which two follow the same one, what a station knows of its laboratory, and an identity that a copy can change. */
const step: Migration = {
  id: 9,
  brings:
    'a register shared with other stations: versions that meet, numbers kept in stock, sessions of other benches',
  up(db) {
    db.exec(`
DROP INDEX version_by_id;
CREATE INDEX version_by_id ON version (kind, id, rev);
ALTER TABLE version ADD COLUMN others TEXT NOT NULL DEFAULT '';
CREATE TABLE fork (kind TEXT NOT NULL, id TEXT NOT NULL, PRIMARY KEY (kind, id)) STRICT, WITHOUT ROWID;
CREATE TABLE laboratory (
  one INTEGER PRIMARY KEY CHECK (one = 1), base TEXT NOT NULL, token TEXT NOT NULL, next_token TEXT NOT NULL,
  pushed INTEGER NOT NULL, pulled INTEGER NOT NULL, pulled_hash TEXT NOT NULL, sessions_pulled INTEGER NOT NULL) STRICT;
CREATE TABLE bench_name (station TEXT PRIMARY KEY, name TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE stock (series TEXT NOT NULL, n INTEGER NOT NULL, PRIMARY KEY (series, n)) STRICT, WITHOUT ROWID;
CREATE TABLE session_told (
  session TEXT PRIMARY KEY, form TEXT NOT NULL, head TEXT NOT NULL) STRICT, WITHOUT ROWID;
ALTER TABLE certificate ADD COLUMN told INTEGER NOT NULL DEFAULT 0;
ALTER TABLE session ADD COLUMN station TEXT NOT NULL DEFAULT '';
ALTER TABLE session ADD COLUMN away INTEGER NOT NULL DEFAULT 0;
CREATE TABLE new_identity (n INTEGER PRIMARY KEY, station TEXT NOT NULL) STRICT;
INSERT INTO new_identity SELECT one, station FROM identity;
DROP TABLE identity;
ALTER TABLE new_identity RENAME TO identity;
${appendOnly('identity', 'n')}`)
  },
}
export default step
