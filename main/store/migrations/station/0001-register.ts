import type { Migration } from '../../migrate.ts'
import { appendOnly } from '../../sqlite.ts'

/** Every version of every entry, the ledger of what was changed, the custodian, and the list of sessions. */
const step: Migration = {
  id: 1,
  brings: 'the register, the ledger and the list of sessions',
  up(db) {
    db.exec(`
CREATE TABLE entry (
  n INTEGER PRIMARY KEY, kind TEXT NOT NULL, id TEXT NOT NULL, utc_us INTEGER NOT NULL, json TEXT) STRICT;
CREATE INDEX entry_by_id ON entry (kind, id, n);
CREATE TABLE ledger (
  n INTEGER PRIMARY KEY, utc_us INTEGER NOT NULL, who TEXT NOT NULL, what TEXT NOT NULL, subject TEXT NOT NULL,
  old TEXT, new TEXT, why TEXT NOT NULL, hash TEXT NOT NULL) STRICT;
CREATE TABLE custodian (
  one INTEGER PRIMARY KEY CHECK (one = 1), name TEXT NOT NULL, salt BLOB NOT NULL, hash BLOB NOT NULL) STRICT;
CREATE TABLE session (
  id TEXT PRIMARY KEY, file TEXT NOT NULL, started_utc_us INTEGER NOT NULL, words TEXT NOT NULL,
  row TEXT NOT NULL) STRICT;
${appendOnly('entry', 'n')}
${appendOnly('ledger', 'n')}`)
  },
}
export default step
