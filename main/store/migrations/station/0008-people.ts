import type { Migration } from '../../migrate.ts'

/** Salted hashes of people's passwords, and windows that stay signed in. Neither is a record: old ones are worth nothing. */
const step: Migration = {
  id: 8,
  brings: 'passwords of people, and windows that stay signed in',
  up(db) {
    db.exec(`
CREATE TABLE password (
  person TEXT PRIMARY KEY, form TEXT NOT NULL, salt BLOB NOT NULL, hash BLOB NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE sign_in (
  digest BLOB PRIMARY KEY, person TEXT NOT NULL, until_utc_us INTEGER NOT NULL) STRICT, WITHOUT ROWID;`)
  },
}
export default step
