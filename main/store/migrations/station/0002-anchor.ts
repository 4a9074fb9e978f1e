import type { Migration } from '../../migrate.ts'
import { appendOnly } from '../../sqlite.ts'

/** Heads of session chains kept apart from the sessions, and how far each was sent on to where. */
const step: Migration = {
  id: 2,
  brings: 'heads of session chains, and how far each session was sent on',
  up(db) {
    db.exec(`
CREATE TABLE anchor (
  n INTEGER PRIMARY KEY, session TEXT NOT NULL, utc_us INTEGER NOT NULL, batch INTEGER NOT NULL,
  head TEXT NOT NULL) STRICT;
CREATE INDEX anchor_by_session ON anchor (session, n);
CREATE TABLE sent (
  target TEXT NOT NULL, session TEXT NOT NULL, last_seq INTEGER NOT NULL, last_event INTEGER NOT NULL,
  last_point INTEGER NOT NULL, PRIMARY KEY (target, session)) STRICT, WITHOUT ROWID;
${appendOnly('anchor', 'n')}`)
  },
}
export default step
