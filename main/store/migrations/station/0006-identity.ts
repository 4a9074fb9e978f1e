import { randomUUID } from 'node:crypto'
import type { Migration } from '../../migrate.ts'
import { appendOnly } from '../../sqlite.ts'

/** Who this station is among others, for good; and which sessions another place has confirmed to have whole. */
const step: Migration = {
  id: 6,
  brings: 'an identity by which archives and brokers tell this station from others',
  up(db) {
    db.exec(`
CREATE TABLE identity (one INTEGER PRIMARY KEY CHECK (one = 1), station TEXT NOT NULL) STRICT;
${appendOnly('identity', 'one')}
ALTER TABLE sent ADD COLUMN confirmed INTEGER NOT NULL DEFAULT 0;`)
    db.prepare('INSERT INTO identity VALUES (1, ?)').run(randomUUID())
  },
}
export default step
