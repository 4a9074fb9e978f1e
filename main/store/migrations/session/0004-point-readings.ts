import type { Migration } from '../../migrate.ts'

/**
 * Points that name their readings: each says of every channel from which seq to which it was taken. The view lists them
 * for whoever has nothing but SQLite; points of before name none and stay as they are.
 */
const step: Migration = {
  id: 4,
  brings: 'the readings that made each point, by number',
  up(db) {
    db.exec(`
CREATE VIEW point_reading AS SELECT point.n AS point_n, json_extract(point.json, '$.id') AS point,
  json_extract(of.value, '$.channel') AS channel, json_extract(of.value, '$.lane') AS lane,
  json_extract(of.value, '$.part') AS part, json_extract(of.value, '$.fromSeq') AS from_seq,
  json_extract(of.value, '$.toSeq') AS to_seq
  FROM point JOIN json_each(point.json, '$.readings') AS of;`)
  },
}
export default step
