import type { Migration } from '../../migrate.ts'

/** What people have half typed: no record, written over, and gone when it is saved. */
const step: Migration = {
  id: 5,
  brings: 'what is half typed, kept until it is saved',
  up(db) {
    db.exec(`
CREATE TABLE draft (
  who TEXT NOT NULL, key TEXT NOT NULL, json TEXT NOT NULL, utc_us INTEGER NOT NULL,
  PRIMARY KEY (who, key)) STRICT, WITHOUT ROWID;`)
  },
}
export default step
