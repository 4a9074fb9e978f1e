import { first } from '../../../app/base/lists.ts'
import { seriesOf } from '../../../app/records/certificate-series.ts'
import { inTransaction, prepared } from '../sqlite.ts'
import type { Connection } from './connection.ts'
import type { LocalCopy } from './local-copy.ts'
import { ALONE } from './tables.ts'

/** Numbers a station keeps for the time when the database is away, and when it asks for more. */
const STOCK = 20
const LOW = 10
/** The series of next year is kept this long before it begins, us. */
const AHEAD_US = 21 * 86_400e6

interface Given {
  number: string
  series: string
  n: number
  session: string
  thermometer: string
  utcUs: number
}

/** Tells the database which numbers were given here. What was given elsewhere too is kept apart, and told in words. */
export async function tellNumbers({ client }: Connection, { db, station }: LocalCopy): Promise<void> {
  const given = prepared(
    db,
    `SELECT number, series, n, session, thermometer, given_utc_us AS utcUs FROM certificate WHERE told = 0 LIMIT 200`,
  ).all() as Given[]
  for (const { number, series, n, session, thermometer, utcUs } of given) {
    const { rows } = await client.query<{ ours: boolean }>(
      `WITH put AS (
         INSERT INTO number VALUES ($1, $2, $3, $4, $5, $6)
           ON CONFLICT (series, n) DO UPDATE SET session = $4, thermometer = $5, given_utc_us = $6
             WHERE number.station = $3 AND number.session IS NULL
         RETURNING 1)
       SELECT EXISTS (SELECT 1 FROM put) OR EXISTS (
         SELECT 1 FROM number WHERE series = $1 AND n = $2 AND station = $3 AND session = $4 AND thermometer = $5) AS ours`,
      [series, n, station, session, thermometer, utcUs],
    )
    prepared(db, 'UPDATE certificate SET told = ? WHERE number = ?').run(first(rows).ours ? 1 : 2, number)
  }
}

/** Keeps enough numbers of the series in use in stock, each of them this station's and no other's. */
export async function fillStock(
  to: Connection,
  local: LocalCopy,
  pattern: string,
  utcUs: number,
): Promise<void> {
  const { db, station } = local
  const years = [utcUs, utcUs + AHEAD_US].map((us) => new Date(us / 1000).getUTCFullYear())
  for (const series of new Set(years.map((year) => seriesOf(pattern, year)))) {
    if (stockOf(local, series) >= LOW) continue
    const numbers = await to.together(async () => {
      await to.client.query(ALONE)
      // What was kept for us, and we do not know of: the answer was cut off.
      const ours = await to.client.query<{ n: number }>(
        'SELECT n FROM number WHERE series = $1 AND station = $2 AND session IS NULL',
        [series, station],
      )
      const lacking = STOCK - ours.rows.length
      const fresh =
        lacking <= 0
          ? []
          : (
              await to.client.query<{ n: number }>(
                `INSERT INTO number (series, n, station)
                   SELECT $1, (SELECT coalesce(max(n), 0) FROM number WHERE series = $1) + i, $2
                   FROM generate_series(1, $3::int) AS i RETURNING n`,
                [series, station, lacking],
              )
            ).rows
      return [...ours.rows, ...fresh].map(({ n }) => n)
    })
    inTransaction(db, () => {
      const put = prepared(db, 'INSERT OR IGNORE INTO stock VALUES (?, ?)')
      for (const n of numbers) put.run(series, n)
    })
  }
}

/** Numbers given here that another bench had given before both were one laboratory, in words. */
export function twiceGiven({ db }: LocalCopy): string[] {
  const numbers = prepared(db, 'SELECT number, session FROM certificate WHERE told = 2 ORDER BY number').all()
  return (numbers as Pick<Given, 'number' | 'session'>[]).map(
    ({ number, session }) =>
      `Certificate number ${number} (session ${session} here) was given at another bench too. Amend one of the two certificates under a new number.`,
  )
}

const stockOf = ({ db }: LocalCopy, series: string) =>
  prepared(
    db,
    `SELECT count(*) FROM stock WHERE series = @series AND n NOT IN (SELECT n FROM certificate WHERE series = @series)`,
  )
    .pluck()
    .get({ series }) as number
