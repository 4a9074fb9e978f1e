import { said } from '../../app/messages/said.ts'
import { certificateNumber, seriesOf } from '../../app/records/certificate-series.ts'
import { StoreError } from './errors.ts'
import type { Db } from './sqlite.ts'

/** Numbers that the certificates of a session were given, by thermometer. */
export function numbersOf(db: Db, session: string): Record<string, string> {
  const rows = db.prepare('SELECT thermometer, number FROM certificate WHERE session = ?').all(session)
  return Object.fromEntries(
    (rows as { thermometer: string; number: string }[]).map((r) => [r.thermometer, r.number]),
  )
}

/**
 * Gives the certificates of a session their numbers, the next ones of their series without a gap; whoever has one keeps it, so
 * that a sign-off that was cut short takes up the same numbers. To be called in a transaction. `fromStock`: the station shares
 * its series with other benches, and gives only numbers that are kept for it. Throws StoreError 'refused' where none is left.
 */
export function giveNumbers(
  db: Db,
  session: string,
  thermometers: readonly string[],
  pattern: string,
  utcUs: number,
  fromStock = false,
): Record<string, string> {
  const given = numbersOf(db, session)
  const year = new Date(Math.floor(utcUs / 1000)).getUTCFullYear()
  const series = seriesOf(pattern, year)
  const last = db.prepare('SELECT max(n) FROM certificate WHERE series = ?').pluck()
  const kept = db.prepare(
    'SELECT min(n) FROM stock WHERE series = ? AND n NOT IN (SELECT n FROM certificate WHERE series = ?)',
  )
  const next = () => {
    if (!fromStock) return ((last.get(series) as number | null) ?? 0) + 1
    const n = kept.pluck().get(series, series) as number | null
    if (n === null) throw new StoreError('refused', said('no-certificate-number', {}), { series })
    return n
  }
  const put = db.prepare(
    `INSERT INTO certificate (number, series, n, session, thermometer, given_utc_us) VALUES (?, ?, ?, ?, ?, ?)`,
  )
  for (const thermometer of thermometers) {
    if (given[thermometer] !== undefined) continue
    const n = next()
    const number = certificateNumber(pattern, year, n)
    put.run(number, series, n, session, thermometer, utcUs)
    given[thermometer] = number
  }
  return given
}

/** Every number of every series in order, with the session and the thermometer it went to: what an assessor asks for. */
export function certificateList(
  db: Db,
): { number: string; session: string; thermometer: string; givenUtcUs: number }[] {
  const rows = db
    .prepare(
      'SELECT number, session, thermometer, given_utc_us AS givenUtcUs FROM certificate ORDER BY series, n',
    )
    .all()
  return rows as { number: string; session: string; thermometer: string; givenUtcUs: number }[]
}

/** Signed files that were to get a time stamp and have none yet. */
export const waitingStamps = (db: Db): { session: string; file: string }[] =>
  db.prepare('SELECT session, file FROM stamp_waiting ORDER BY since_utc_us, file').all() as {
    session: string
    file: string
  }[]

export const waitForStamp = (db: Db, session: string, file: string, utcUs: number): void => {
  db.prepare('INSERT OR IGNORE INTO stamp_waiting VALUES (?, ?, ?)').run(session, file, utcUs)
}

export const stampArrived = (db: Db, session: string, file: string): void => {
  db.prepare('DELETE FROM stamp_waiting WHERE session = ? AND file = ?').run(session, file)
}
