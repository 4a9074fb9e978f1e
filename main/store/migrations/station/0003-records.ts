import type { Migration } from '../../migrate.ts'
import { applyChange, type Change, changeOf, type Whole } from '../../records/change.ts'
import { START, versionHash } from '../../records/versions.ts'
import { appendOnly, type Db } from '../../sqlite.ts'

/** Lists that grew with the years when this step was made. */
const LISTS: Record<string, readonly string[]> = {
  thermometer: ['calibrations', 'wtpHistory'],
  resistor: ['calibrations', 'comparisons'],
  instrument: ['checks'],
}

/** Versions of records that hold what they changed, and rows that answer questions. The rows are filled at opening. */
const step: Migration = {
  id: 3,
  brings:
    'records in rows that are searched and read one at a time, and versions that hold what they changed',
  up(db) {
    db.exec(`
CREATE TABLE version (
  n INTEGER PRIMARY KEY, kind TEXT NOT NULL, id TEXT NOT NULL, rev INTEGER NOT NULL, utc_us INTEGER NOT NULL,
  who TEXT NOT NULL, station TEXT NOT NULL, why TEXT NOT NULL, change TEXT NOT NULL, before TEXT NOT NULL,
  hash TEXT NOT NULL) STRICT;
CREATE UNIQUE INDEX version_by_id ON version (kind, id, rev);
CREATE UNIQUE INDEX version_by_hash ON version (hash);
CREATE TABLE record (
  n INTEGER PRIMARY KEY, kind TEXT NOT NULL, id TEXT NOT NULL, rev INTEGER NOT NULL, utc_us INTEGER NOT NULL,
  state TEXT NOT NULL, name TEXT NOT NULL, type TEXT NOT NULL, serial TEXT NOT NULL, owner TEXT NOT NULL, due TEXT,
  facts TEXT NOT NULL, json TEXT NOT NULL, damaged TEXT) STRICT;
CREATE UNIQUE INDEX record_by_id ON record (kind, id);
CREATE INDEX record_by_name ON record (kind, name COLLATE NOCASE, id);
CREATE INDEX record_by_due ON record (due) WHERE due IS NOT NULL;
CREATE TABLE part (
  record INTEGER NOT NULL REFERENCES record, list TEXT NOT NULL, place INTEGER NOT NULL, id TEXT, date TEXT, due TEXT,
  json TEXT NOT NULL, PRIMARY KEY (record, list, place)) STRICT, WITHOUT ROWID;
CREATE TABLE record_link (
  record INTEGER NOT NULL REFERENCES record, role TEXT NOT NULL, id TEXT NOT NULL,
  PRIMARY KEY (record, role, id)) STRICT, WITHOUT ROWID;
CREATE INDEX record_link_by_id ON record_link (role, id);
CREATE TABLE record_kind (kind TEXT PRIMARY KEY, row_form INTEGER NOT NULL) STRICT, WITHOUT ROWID;
CREATE VIRTUAL TABLE record_text USING fts5(
  words, content = '', contentless_delete = 1, tokenize = "unicode61 remove_diacritics 2", prefix = '2 3');
CREATE INDEX ledger_by_subject ON ledger (subject, n);
${appendOnly('version', 'n')}`)
    takeVersions(db)
    db.exec('DROP TABLE entry')
  },
}
export default step

interface OldEntry {
  n: number
  utcUs: number
  json: string | null
}

/** Who and why stand in the ledger, whose entry of the same moment and record says so. */
function takeVersions(db: Db): void {
  const told = db.prepare(
    'SELECT who, why FROM ledger WHERE subject = ? AND utc_us = ? AND what LIKE ? ORDER BY n DESC LIMIT 1',
  )
  const put = db.prepare(
    'INSERT INTO version VALUES (@n, @kind, @id, @rev, @utcUs, @who, @station, @why, @change, @before, @hash)',
  )
  const versions = db.prepare(
    'SELECT n, utc_us AS utcUs, json FROM entry WHERE kind = ? AND id = ? ORDER BY n',
  )
  const records = db.prepare('SELECT DISTINCT kind, id FROM entry ORDER BY kind, id').all()
  for (const { kind, id } of records as { kind: string; id: string }[]) {
    let rev = 0
    let before = START
    let whole: Whole | undefined
    for (const { n, utcUs, json } of versions.all(kind, id) as OldEntry[]) {
      const change = changeTo(whole, json, LISTS[kind] ?? [])
      const by = told.get(id, utcUs, `${kind} %`) as { who: string; why: string } | undefined
      rev += 1
      const version = {
        ...{ kind, id, rev, utcUs, who: by?.who ?? '', station: '', why: by?.why ?? '' },
        ...{ change: JSON.stringify(change), before },
      }
      before = versionHash(version)
      put.run({ n, ...version, hash: before })
      whole = change.state === 'removed' ? undefined : applyChange(whole, change)
    }
  }
}

function changeTo(before: Whole | undefined, json: string | null, lists: readonly string[]): Change {
  if (json === null) return { state: 'removed' }
  return { ...changeOf(before, wholeOf(json), lists), ...(!before && { state: 'kept' }) }
}

/** A version that was damaged already is carried on as the text it is, so that nothing of it is lost. */
function wholeOf(json: string): Whole {
  try {
    const whole: unknown = JSON.parse(json)
    if (whole !== null && typeof whole === 'object') return whole as Whole
  } catch {
    // Carried on below.
  }
  return { unreadable: json }
}
