import type { Migration } from '../../migrate.ts'

/** Stretches of one channel beside the log, so that an overview does not read the whole of it. Derived: no triggers. */
const step: Migration = {
  id: 2,
  brings: 'stretches of each channel for quick overviews',
  up(db) {
    db.exec(`
CREATE TABLE chunk (
  id INTEGER PRIMARY KEY, count INTEGER NOT NULL, first_seq INTEGER NOT NULL, last_seq INTEGER NOT NULL,
  low_utc_us INTEGER NOT NULL, high_utc_us INTEGER NOT NULL, numbers INTEGER NOT NULL, low REAL, high REAL,
  total REAL) STRICT;
CREATE TABLE chunk_cells (id INTEGER PRIMARY KEY, cells BLOB NOT NULL) STRICT;
CREATE TABLE chunk_body (id INTEGER PRIMARY KEY, body BLOB NOT NULL) STRICT;
CREATE TABLE sealed (channel INTEGER PRIMARY KEY, chunks INTEGER NOT NULL, through_seq INTEGER NOT NULL) STRICT;`)
  },
}
export default step
