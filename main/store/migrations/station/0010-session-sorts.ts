import type { Migration } from '../../migrate.ts'

/**
 * Every way the list of sessions can be sorted is an index, so that a page is read and not the whole list; and looks, which the list
 * leaves out, are told without opening every row.
 */
const step: Migration = {
  id: 10,
  brings: 'a list of sessions that is sorted by indices',
  up(db) {
    db.exec(`
ALTER TABLE session ADD COLUMN is_look INTEGER NOT NULL GENERATED ALWAYS AS (
  coalesce(CASE WHEN json_valid(row) THEN json_extract(row, '$.info.kind') END, '') = 'look') VIRTUAL;
CREATE INDEX session_look ON session (ended_utc_us) WHERE is_look = 1;
CREATE INDEX session_by_name ON session (name COLLATE NOCASE, started_utc_us, id);
CREATE INDEX session_by_operator ON session (operator COLLATE NOCASE, started_utc_us, id);
CREATE INDEX session_by_readings ON session (readings, started_utc_us, id);
CREATE INDEX session_by_points ON session (points, started_utc_us, id);
CREATE INDEX session_by_bytes ON session (bytes, started_utc_us, id);
CREATE INDEX session_by_length ON session (ended_utc_us - started_utc_us, started_utc_us, id);
CREATE INDEX session_by_signer ON session (signed_off_by COLLATE NOCASE, started_utc_us, id)`)
  },
}
export default step
