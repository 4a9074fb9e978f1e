import type { LedgerLine } from '../../app/contract/pages.ts'
import { LedgerEntry } from '../../app/contract/studies.ts'
import { said } from '../../app/messages/said.ts'
import { sha256 } from './chain.ts'
import { StoreError } from './errors.ts'
import { searchQuery } from './records/search-text.ts'
import { type Db, prepared } from './sqlite.ts'

export interface NewLedgerEntry {
  who: string
  /** What was done, in a word or two: 'thermometer saved'. */
  what: string
  /** Id of what it was done to. */
  subject: string
  old: string | null
  new: string | null
  why: string
}

export interface LedgerQuery {
  subject?: string | undefined
  /** Words that must occur in who, what, subject or why, each by its beginning. */
  search?: string | undefined
  /** The oldest first. */
  reverse?: boolean | undefined
  /** Entries left out at the beginning, and most of them that are given. */
  from?: number | undefined
  most?: number | undefined
}

/** Entries of a list where no number is asked for. */
const MOST = 500
/** Hash before the first entry. */
const START = '0'.repeat(64)
/** What a list shows of an entry. A save can be taken back where a record was there before and none came after it. */
const LINE = `n, utc_us AS utcUs, who, what, subject, why, hash, old IS NOT NULL AND what IN ('thermometer saved',
  'resistor saved', 'instrument saved', 'fluid saved', 'cell saved', 'bath saved') AND NOT EXISTS (SELECT 1 FROM ledger AS later
  WHERE later.subject = ledger.subject AND later.n > ledger.n AND later.what = ledger.what) AS canTakeBack`
const COLUMNS = 'n, utc_us AS utcUs, who, what, subject, old, new, why, hash'

const hashOf = (before: string, e: Omit<LedgerEntry, 'hash'>) =>
  sha256(
    Buffer.from(
      before + JSON.stringify([e.n, e.utcUs, e.who, e.what, e.subject, e.old, e.new, e.why]),
      'utf8',
    ),
  ).toString('hex')

/** Append-only, hash-chained list of what was changed or decided, when, by whom and why. */
export class Ledger {
  readonly #db: Db

  constructor(db: Db) {
    this.#db = db
  }

  /** Inside the caller's transaction, so that the act and its entry are stored together. */
  append(entry: NewLedgerEntry, utcUs: number): LedgerEntry {
    const last = prepared(this.#db, 'SELECT n, hash FROM ledger ORDER BY n DESC LIMIT 1').get() as
      | { n: number; hash: string }
      | undefined
    const { who, what, subject, old, why } = entry
    const numbered = {
      n: (last?.n ?? 0) + 1,
      utcUs,
      // As UTF-8 keeps them: half a surrogate pair becomes the replacement character before it is hashed, not after.
      who: who.toWellFormed(),
      what: what.toWellFormed(),
      subject: subject.toWellFormed(),
      old: old === null ? null : old.toWellFormed(),
      new: entry.new === null ? null : entry.new.toWellFormed(),
      why: why.toWellFormed(),
    }
    const whole = { ...numbered, hash: hashOf(last?.hash ?? START, numbered) }
    prepared(
      this.#db,
      'INSERT INTO ledger VALUES (@n, @utcUs, @who, @what, @subject, @old, @new, @why, @hash)',
    ).run(whole)
    prepared(this.#db, 'INSERT INTO ledger_text (rowid, words) VALUES (?, ?)').run(
      whole.n,
      [whole.who, whole.what, whole.subject, whole.why].join('\n'),
    )
    return whole
  }

  /** Whole entries, the newest first. */
  list(query: LedgerQuery = {}): LedgerEntry[] {
    return this.#page(COLUMNS, query).rows.map((row) => this.#parse(row))
  }

  /** A page of lines, the newest first, and how many there are in all. */
  lines(query: LedgerQuery = {}): { total: number; rows: LedgerLine[] } {
    const { total, rows } = this.#page(LINE, query)
    const lines = rows as (Omit<LedgerLine, 'canTakeBack'> & { canTakeBack: number })[]
    return { total, rows: lines.map((line) => ({ ...line, canTakeBack: line.canTakeBack === 1 })) }
  }

  #page(
    columns: string,
    { subject, search = '', reverse, from = 0, most = MOST }: LedgerQuery,
  ): { total: number; rows: unknown[] } {
    const query = searchQuery(search)
    const way = reverse ? 'ASC' : 'DESC'
    if (query !== undefined && subject === undefined) {
      // The index gives its rows in the order of their numbers: of many that are found only the page is read.
      const found = 'FROM ledger_text WHERE ledger_text MATCH ?'
      const total = prepared(this.#db, `SELECT count(*) ${found}`).pluck().get(query) as number
      const rows = prepared(
        this.#db,
        `SELECT ${columns} FROM ledger WHERE n IN (SELECT rowid ${found} ORDER BY rowid ${way} LIMIT ? OFFSET ?)
         ORDER BY n ${way}`,
      ).all(query, most, from)
      return { total, rows }
    }
    const where = [
      ...(subject === undefined ? [] : ['subject = @subject']),
      ...(query === undefined ? [] : ['n IN (SELECT rowid FROM ledger_text WHERE ledger_text MATCH @query)']),
    ]
    const values = { ...(subject !== undefined && { subject }), ...(query !== undefined && { query }) }
    const condition = where.length > 0 ? `WHERE ${where.join(' AND ')}` : ''
    const total = prepared(this.#db, `SELECT count(*) FROM ledger ${condition}`).pluck().get(values) as number
    const rows = prepared(
      this.#db,
      `SELECT ${columns} FROM ledger ${condition} ORDER BY n ${way} LIMIT @most OFFSET @from`,
    ).all({ ...values, most, from })
    return { total, rows }
  }

  entry(n: number): LedgerEntry | undefined {
    const row = prepared(this.#db, `SELECT ${COLUMNS} FROM ledger WHERE n = ?`).get(n)
    return row === undefined ? undefined : this.#parse(row)
  }

  /** Walks the chain from its start. `firstBreak` names the first entry that does not fit. */
  verify(): { whole: boolean; entries: number; head: string; firstBreak: string | null } {
    let before = START
    let entries = 0
    const page = prepared(this.#db, `SELECT ${COLUMNS} FROM ledger WHERE n > ? ORDER BY n LIMIT 1000`)
    for (;;) {
      const rows = page.all(entries)
      for (const row of rows) {
        const entry = this.#parse(row)
        const broken = (words: string) => ({ whole: false, entries, head: before, firstBreak: words })
        if (entry.n !== entries + 1) return broken(`Entry ${entries + 1} of the ledger is missing.`)
        if (hashOf(before, entry) !== entry.hash)
          return broken(
            `Entry ${entry.n} of the ledger (${entry.what}, ${entry.subject}) is not what was written.`,
          )
        before = entry.hash
        entries = entry.n
      }
      if (rows.length < 1000) return { whole: true, entries, head: before, firstBreak: null }
    }
  }

  #parse(row: unknown): LedgerEntry {
    const entry = LedgerEntry.safeParse(row)
    if (!entry.success)
      throw new StoreError('damaged', said('ledger-entry-unreadable', { db: this.#db.name }))
    return entry.data
  }
}
