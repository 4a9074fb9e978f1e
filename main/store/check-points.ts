import type { SessionChecks } from '../../app/checks/check-history.ts'
import { type Db, inTransaction, prepared } from './sqlite.ts'

/** What the check thermometers of ended sessions were found to deviate by, kept as rows so that a chart is one question. */
export class CheckPoints {
  readonly #db: Db

  constructor(db: Db) {
    this.#db = db
  }

  /** What sessions found of one thermometer, by their days. */
  of(thermometer: string): SessionChecks[] {
    const rows = prepared(
      this.#db,
      `SELECT s.id AS session, c.date, c.celsius, c.difference_mk AS differenceMk, c.u_mk AS uMk
         FROM check_point c JOIN session s ON s.n = c.session WHERE c.thermometer = ? ORDER BY c.date, c.session, c.place`,
    ).all(thermometer) as {
      session: string
      date: string
      celsius: number
      differenceMk: number
      uMk: number
    }[]
    const found = new Map<
      string,
      { session: string; date: string; points: SessionChecks['points'][number][] }
    >()
    for (const { session, date, ...point } of rows) {
      const checks = found.get(session) ?? { session, date, points: [] }
      checks.points.push({ thermometer, ...point })
      found.set(session, checks)
    }
    return [...found.values()]
  }

  /** Ended sessions that were not looked at since they were last added to: how many, and the newest of them. */
  waiting(thermometer?: string): { total: number; next: { id: string; form: string } | undefined } {
    const of =
      thermometer === undefined
        ? ''
        : 'AND n IN (SELECT session FROM session_thermometer WHERE thermometer = @thermometer)'
    const where = `looked_at IS NOT form AND ended_utc_us IS NOT NULL AND damaged IS NULL ${of}`
    const values = thermometer === undefined ? {} : { thermometer }
    const total = prepared(this.#db, `SELECT count(*) FROM session WHERE ${where}`)
      .pluck()
      .get(values) as number
    const next = prepared(
      this.#db,
      `SELECT id, form FROM session WHERE ${where} ORDER BY started_utc_us DESC LIMIT 1`,
    ).get(values) as { id: string; form: string } | undefined
    return { total, next }
  }

  /** Keeps what was found in a session as it stood; undefined: it could not be looked at, and is not asked again. */
  keep(session: string, form: string, checks: SessionChecks | undefined): void {
    inTransaction(this.#db, () => {
      const n = prepared(this.#db, 'SELECT n FROM session WHERE id = ?').pluck().get(session) as
        | number
        | undefined
      if (n === undefined) return
      prepared(this.#db, 'DELETE FROM check_point WHERE session = ?').run(n)
      const put = prepared(this.#db, 'INSERT INTO check_point VALUES (?, ?, ?, ?, ?, ?, ?)')
      for (const [place, p] of (checks?.points ?? []).entries())
        put.run(n, place, p.thermometer, checks!.date, p.celsius, p.differenceMk, p.uMk)
      prepared(this.#db, 'UPDATE session SET looked_at = ? WHERE n = ?').run(form, n)
    })
  }
}
