import type pg from 'pg'
import { prepared } from '../sqlite.ts'
import type { LocalCopy } from './local-copy.ts'

/** Numbers kept for this station that its folder of before may have given: nobody gives them any more. */
export async function voidNumbers(client: pg.Client, { db, station }: LocalCopy): Promise<void> {
  const given = prepared(db, "SELECT series || ' ' || n FROM certificate WHERE told = 0").pluck().all()
  await client.query(
    `UPDATE number SET session = '', thermometer = '', given_utc_us = 0
       WHERE station = $1 AND session IS NULL AND NOT series || ' ' || n = ANY ($2)`,
    [station, given],
  )
}
