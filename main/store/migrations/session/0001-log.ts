import type { Migration } from '../../migrate.ts'
import { appendOnly } from '../../sqlite.ts'

/** The record itself: readings, sources, marks, events, points, and the batches that chain them. */
const step: Migration = {
  id: 1,
  brings: 'readings, events and points, chained in batches',
  up(db) {
    db.exec(`
CREATE TABLE session (one INTEGER PRIMARY KEY CHECK (one = 1), info TEXT NOT NULL, setup TEXT NOT NULL) STRICT;
CREATE TABLE mark (bit INTEGER PRIMARY KEY CHECK (bit BETWEEN 0 AND 30), name TEXT NOT NULL) STRICT;
CREATE TABLE source (id INTEGER PRIMARY KEY, channel TEXT NOT NULL, unit TEXT NOT NULL, current_ma REAL) STRICT;
CREATE TABLE log (
  seq INTEGER PRIMARY KEY CHECK (seq > 0), source INTEGER NOT NULL, utc_us INTEGER NOT NULL, mono_us INTEGER NOT NULL,
  raw TEXT NOT NULL, value TEXT, marks INTEGER NOT NULL) STRICT;
CREATE TABLE event (
  n INTEGER PRIMARY KEY, utc_us INTEGER NOT NULL, mono_us INTEGER NOT NULL, kind TEXT NOT NULL, who TEXT NOT NULL,
  subject TEXT, words TEXT NOT NULL, data TEXT NOT NULL) STRICT;
CREATE TABLE point (n INTEGER PRIMARY KEY, json TEXT NOT NULL) STRICT;
CREATE TABLE batch (
  n INTEGER PRIMARY KEY, last_seq INTEGER NOT NULL, last_event INTEGER NOT NULL, last_point INTEGER NOT NULL,
  last_source INTEGER NOT NULL, last_mark INTEGER NOT NULL, hash BLOB NOT NULL) STRICT;
CREATE TABLE working (key TEXT PRIMARY KEY, value TEXT NOT NULL, sha256 BLOB NOT NULL) STRICT;
CREATE VIEW reading AS SELECT log.seq, source.channel,
  strftime('%Y-%m-%dT%H:%M:%S', log.utc_us / 1000000, 'unixepoch') || printf('.%06dZ', log.utc_us % 1000000) AS utc,
  log.utc_us, log.mono_us, log.raw, CASE log.value WHEN '=' THEN log.raw ELSE log.value END AS value, source.unit,
  source.current_ma, log.marks,
  (SELECT group_concat(name, ' ') FROM mark WHERE log.marks >> mark.bit & 1) AS mark_names
  FROM log JOIN source ON source.id = log.source;
${appendOnly('session', 'one')}
${appendOnly('mark', 'bit')}
${appendOnly('source', 'id')}
${appendOnly('log', 'seq', 'NEW.seq >= 0')}
${appendOnly('event', 'n')}
${appendOnly('point', 'n')}
${appendOnly('batch', 'n')}`)
  },
}
export default step
