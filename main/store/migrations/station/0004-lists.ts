import type { Migration } from '../../migrate.ts'
import type { Db } from '../../sqlite.ts'

/** Sessions in narrow rows, what their check thermometers were found to deviate by, and a search in both lists. */
const step: Migration = {
  id: 4,
  brings: 'lists of sessions and of the ledger that are searched and read in pages, and charts kept as rows',
  up(db) {
    db.exec(`
ALTER TABLE session RENAME TO old_session;
CREATE TABLE session (
  n INTEGER PRIMARY KEY, id TEXT NOT NULL, file TEXT NOT NULL, started_utc_us INTEGER NOT NULL, ended_utc_us INTEGER,
  name TEXT NOT NULL, operator TEXT NOT NULL, readings INTEGER NOT NULL, points INTEGER NOT NULL,
  bytes INTEGER NOT NULL, signed_off_by TEXT, damaged TEXT, row TEXT NOT NULL, sketch BLOB NOT NULL,
  form TEXT NOT NULL, looked_at TEXT) STRICT;
CREATE UNIQUE INDEX session_by_id ON session (id);
CREATE INDEX session_by_start ON session (started_utc_us, id);
CREATE INDEX session_open ON session (id) WHERE ended_utc_us IS NULL;
CREATE INDEX session_not_looked_at ON session (started_utc_us) WHERE looked_at IS NOT form;
CREATE TABLE session_thermometer (
  thermometer TEXT NOT NULL, session INTEGER NOT NULL REFERENCES session ON DELETE CASCADE,
  PRIMARY KEY (thermometer, session)) STRICT, WITHOUT ROWID;
CREATE INDEX session_thermometer_by_session ON session_thermometer (session);
CREATE TABLE check_point (
  session INTEGER NOT NULL REFERENCES session ON DELETE CASCADE, place INTEGER NOT NULL, thermometer TEXT NOT NULL,
  date TEXT NOT NULL, celsius REAL NOT NULL, difference_mk REAL NOT NULL, u_mk REAL NOT NULL,
  PRIMARY KEY (session, place)) STRICT, WITHOUT ROWID;
CREATE INDEX check_point_by_thermometer ON check_point (thermometer, date);
CREATE VIRTUAL TABLE session_text USING fts5(
  words, content = '', contentless_delete = 1, tokenize = "unicode61 remove_diacritics 2", prefix = '2 3');
CREATE VIRTUAL TABLE ledger_text USING fts5(
  words, content = '', contentless_delete = 1, tokenize = "unicode61 remove_diacritics 2", prefix = '2 3');
INSERT INTO ledger_text (rowid, words)
  SELECT n, who || char(10) || what || char(10) || subject || char(10) || why FROM ledger;`)
    takeSessions(db)
    db.exec('DROP TABLE old_session')
  },
}
export default step

interface OldSession {
  id: string
  file: string
  started: number
  words: string
  row: string
}

interface OldRow {
  info?: { endedUtcUs?: number | null; name?: string; operator?: string }
  readings?: number
  points?: number
  bytes?: number
  thermometers?: string[]
  sketch?: (number | null)[]
  signedOffBy?: string | null
  damaged?: string | null
}

function takeSessions(db: Db): void {
  const put = db.prepare(
    `INSERT INTO session (id, file, started_utc_us, ended_utc_us, name, operator, readings, points, bytes,
       signed_off_by, damaged, row, sketch, form)
     VALUES (@id, @file, @started, @ended, @name, @operator, @readings, @points, @bytes, @signedOffBy, @damaged, @row,
       @sketch, '')`,
  )
  const text = db.prepare('INSERT INTO session_text (rowid, words) VALUES (?, ?)')
  const of = db.prepare('INSERT OR IGNORE INTO session_thermometer VALUES (?, ?)')
  const ids = db.prepare('SELECT id FROM old_session ORDER BY started_utc_us, id').pluck().all() as string[]
  const one = db.prepare(
    'SELECT id, file, started_utc_us AS started, words, row FROM old_session WHERE id = ?',
  )
  for (const id of ids) {
    const old = one.get(id) as OldSession
    const { sketch = [], ...row } = rowOf(old.row)
    const { info = {}, readings = 0, points = 0, bytes = 0, signedOffBy = null, damaged = null } = row
    const n = put.run({
      ...{ id, file: old.file, started: old.started, ended: info.endedUtcUs ?? null },
      ...{
        name: info.name ?? '',
        operator: info.operator ?? '',
        readings,
        points,
        bytes,
        signedOffBy,
        damaged,
      },
      row: JSON.stringify(row),
      sketch: Buffer.from(Float32Array.from(sketch, (value) => value ?? Number.NaN).buffer),
    }).lastInsertRowid
    text.run(n, old.words)
    for (const thermometer of row.thermometers ?? []) of.run(thermometer, n)
  }
}

/** A row that cannot be read is filed anew from its session by `stillpoint sessions --rebuild`. */
function rowOf(json: string): OldRow {
  try {
    const row: unknown = JSON.parse(json)
    if (row !== null && typeof row === 'object') return row as OldRow
  } catch {
    // As below.
  }
  return {}
}
