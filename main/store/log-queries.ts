import { last } from '../../app/base/lists.ts'
import type { Reading } from '../../app/records/reading.ts'
import type { Stretch } from './chunk.ts'
import { asStoreError, isDamage } from './errors.ts'
import { type Overview, overviewOfLog } from './overview.ts'
import type { ColumnsQuery, OverviewQuery, Pyramid } from './pyramid.ts'
import { emptyPage, fillFromRows, type ReadingPage } from './reading-pages.ts'
import { LOG_COLUMNS, type LogRow, type Numbering, numberOf } from './rows.ts'
import type { Db } from './sqlite.ts'
import { Tail } from './tail.ts'

export interface ReadingsQuery extends ColumnsQuery {
  /** At most this many, the earliest first. */
  most: number
}

const COLUMNS_PAGE = 50_000
/** Rows looked at in one statement on the way back through the log. */
const BACK_PAGE = 2000

/** What may be asked of a session's readings. Through the chunks where there are any, else from the log alone. */
export class LogQueries {
  readonly #db: Db
  readonly #numbering: Numbering
  readonly #pyramid: Pyramid | undefined
  /** Whether another connection may be writing: then what it added is taken up before each look. */
  readonly #follows: boolean
  readonly #select

  constructor(db: Db, numbering: Numbering, pyramid: Pyramid | undefined, follows: boolean) {
    this.#db = db
    this.#numbering = numbering
    this.#pyramid = pyramid
    this.#follows = follows
    const rows = (where: string) => db.prepare(`SELECT ${LOG_COLUMNS} FROM log WHERE ${where}`).raw()
    this.#select = {
      since: rows('seq > ? ORDER BY seq LIMIT ?'),
      between: rows('seq BETWEEN ? AND ? ORDER BY seq'),
      bySeq: rows('seq = ?'),
      back: rows(`seq < ? ORDER BY seq DESC LIMIT ${BACK_PAGE}`),
    }
  }

  since(seq: number, most: number): Reading[] {
    return this.#look(() => this.#toReadings(this.#select.since.all(seq, most) as LogRow[]))
  }

  between(fromSeq: number, toSeq: number): Reading[] {
    return this.#look(() => this.#toReadings(this.#select.between.all(fromSeq, toSeq) as LogRow[]))
  }

  readings(query: ReadingsQuery): Reading[] {
    return this.#throughChunks(
      (pyramid) => {
        const rows: LogRow[] = []
        for (const seq of pyramid.seqs(query.channel, query)) {
          const row = this.#select.bySeq.get(seq) as LogRow | undefined
          if (row) rows.push(row)
        }
        return this.#toReadings(rows)
      },
      () => this.#readingsOfLog(query),
    )
  }

  /**
   * Goes through the readings after a seq page by page, from the chunks as far as they hold every one, then from the
   * log. The page is the same object each time. Throws where the log's bytes make no sense.
   */
  *pages(afterSeq: number, most: number): Generator<ReadingPage, undefined> {
    const page = emptyPage(most)
    let after = afterSeq
    for (const lastSeq of this.#pagesOfChunks(page, after, most)) {
      after = lastSeq
      yield page
    }
    for (;;) {
      const rows = this.#look(() => this.#select.since.all(after, most) as LogRow[])
      if (rows.length === 0) return
      fillFromRows(page, rows)
      after = last(rows)[0]
      if (this.#follows) this.#numbering.readSources(this.#db)
      yield page
    }
  }

  *#pagesOfChunks(page: ReadingPage, afterSeq: number, most: number): Generator<number, undefined> {
    const pyramid = this.#pyramid
    if (!pyramid) return
    try {
      const { through, cursors } = this.#atOneMoment(pyramid, () => ({
        through: pyramid.sealedThrough,
        cursors: pyramid.cursors(afterSeq),
      }))
      for (let after = afterSeq; after < through; after += page.count) {
        const end = Math.min(after + most, through)
        page.count = end - after
        let filled = 0
        for (const cursor of cursors) filled += cursor.fill(page, after + 1, end + 1)
        if (filled < page.count) return
        yield end
      }
    } catch (fault) {
      if (!isDamage(fault) && !(fault instanceof RangeError)) throw fault
    }
  }

  columns(query: ColumnsQuery, goOn: () => void = () => undefined): Stretch {
    return this.#throughChunks(
      (pyramid) => pyramid.columns(query, goOn),
      () => {
        const tail = new Tail()
        const { toSeq = Number.MAX_SAFE_INTEGER } = query
        for (let fromSeq = query.fromSeq ?? 1; ; ) {
          goOn()
          const rows = this.#rowsOfLog({ ...query, fromSeq, toSeq, most: COLUMNS_PAGE })
          for (const [seq, source, utcUs, monoUs, raw, value, marks] of rows)
            tail.add(seq, utcUs, monoUs, numberOf(raw, value), source, marks)
          if (rows.length < COLUMNS_PAGE) return tail.stretch
          fromSeq = last(rows)[0] + 1
        }
      },
    )
  }

  overview(query: OverviewQuery): Overview {
    return this.#throughChunks(
      (pyramid) => pyramid.overview(query),
      () => overviewOfLog(this.#db, this.#numbering, query),
    )
  }

  lastReadings(channel: string, windowUs: number, beforeMonoUs?: number): Reading[] {
    const after = this.#throughChunks(
      (pyramid) => pyramid.lastSeqOf(channel),
      () => Number.MAX_SAFE_INTEGER - 1,
    )
    const sources = new Set(this.#numbering.sourcesOf(channel).map(({ id }) => id))
    const found: Reading[] = []
    let end = beforeMonoUs
    let before = after + 1
    for (;;) {
      const rows = this.#select.back.all(before) as LogRow[]
      for (const row of rows) {
        if (end !== undefined && row[3] < end - windowUs) return found.reverse()
        if (!sources.has(row[1]) || (end !== undefined && row[3] > end)) continue
        end ??= row[3]
        found.push(this.#numbering.toReading(row))
      }
      if (rows.length < BACK_PAGE) return found.reverse()
      before = last(rows)[0]
    }
  }

  /** Chunks are a help: where their bytes make no sense, the log itself is asked. */
  #throughChunks<T>(quick: (pyramid: Pyramid) => T, plain: () => T): T {
    const pyramid = this.#pyramid
    if (pyramid)
      try {
        return this.#atOneMoment(pyramid, () => quick(pyramid))
      } catch (fault) {
        if (!isDamage(fault) && !(fault instanceof RangeError)) throw fault
      }
    return this.#look(() => {
      this.#numbering.readSources(this.#db)
      return plain()
    })
  }

  #look<T>(look: () => T): T {
    try {
      return look()
    } catch (fault) {
      throw asStoreError(fault, this.#db.name)
    }
  }

  #atOneMoment<T>(pyramid: Pyramid, look: () => T): T {
    if (!this.#follows || this.#db.inTransaction) return look()
    this.#db.exec('BEGIN')
    try {
      this.#numbering.readSources(this.#db)
      pyramid.refresh()
      return look()
    } finally {
      // Nothing was written: after a damaged page there is nothing to commit either.
      this.#db.exec('ROLLBACK')
    }
  }

  #toReadings(rows: readonly LogRow[]): Reading[] {
    if (this.#follows && rows.some((row) => row[1] > this.#numbering.sources.length))
      this.#numbering.readSources(this.#db)
    return rows.map((row) => this.#numbering.toReading(row))
  }

  #readingsOfLog(query: ReadingsQuery): Reading[] {
    return this.#toReadings(this.#rowsOfLog(query))
  }

  #rowsOfLog({ channel, fromUtcUs, toUtcUs, fromSeq, toSeq, most }: ReadingsQuery): LogRow[] {
    const sources = this.#numbering.sourcesOf(channel).map(({ id }) => id)
    return this.#db
      .prepare(
        `SELECT ${LOG_COLUMNS} FROM log WHERE seq BETWEEN ? AND ? AND utc_us BETWEEN ? AND ?
         AND source IN (${sources.join(', ') || 'NULL'}) ORDER BY seq LIMIT ?`,
      )
      .raw()
      .all(
        fromSeq ?? 1,
        toSeq ?? Number.MAX_SAFE_INTEGER,
        fromUtcUs ?? Number.MIN_SAFE_INTEGER,
        toUtcUs ?? Number.MAX_SAFE_INTEGER,
        most,
      ) as LogRow[]
  }
}
