import type { Migration } from '../../migrate.ts'

/** Numbers that certificates were given, and signed files that wait for a time stamp. */
const step: Migration = {
  id: 7,
  brings: 'the series of certificate numbers, and the queue of time stamps',
  up(db) {
    db.exec(`
CREATE TABLE certificate (
  number TEXT PRIMARY KEY, series TEXT NOT NULL, n INTEGER NOT NULL, session TEXT NOT NULL, thermometer TEXT NOT NULL,
  given_utc_us INTEGER NOT NULL, UNIQUE (series, n), UNIQUE (session, thermometer)) STRICT, WITHOUT ROWID;
CREATE TABLE stamp_waiting (
  session TEXT NOT NULL, file TEXT NOT NULL, since_utc_us INTEGER NOT NULL,
  PRIMARY KEY (session, file)) STRICT, WITHOUT ROWID;`)
  },
}
export default step
