import { LedgerEntry } from '../../app/contract/studies.ts'
import { sha256 } from './chain.ts'
import { StoreError } from './errors.ts'
import { searchQuery } from './records/search-text.ts'
import type { Db } from './sqlite.ts'

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
  /** Entries left out at the beginning, and most of them that are given. */
  from?: number | undefined
  most?: number | undefined
}

/** Hash before the first entry. */
const START = '0'.repeat(64)
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
    const last = this.#db.prepare('SELECT n, hash FROM ledger ORDER BY n DESC LIMIT 1').get() as
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
    this.#db
      .prepare('INSERT INTO ledger VALUES (@n, @utcUs, @who, @what, @subject, @old, @new, @why, @hash)')
      .run(whole)
    this.#db
      .prepare('INSERT INTO ledger_text (rowid, words) VALUES (?, ?)')
      .run(whole.n, [whole.who, whole.what, whole.subject, whole.why].join('\n'))
    return whole
  }

  /** The newest first, and how many there are in all. */
  list({ subject, search = '', from = 0, most = 500 }: LedgerQuery = {}): {
    total: number
    rows: LedgerEntry[]
  } {
    const query = searchQuery(search)
    const where = [
      ...(subject === undefined ? [] : ['subject = @subject']),
      ...(query === undefined ? [] : ['n IN (SELECT rowid FROM ledger_text WHERE ledger_text MATCH @query)']),
    ]
    const values = { ...(subject !== undefined && { subject }), ...(query !== undefined && { query }) }
    const condition = where.length > 0 ? `WHERE ${where.join(' AND ')}` : ''
    const total = this.#db.prepare(`SELECT count(*) FROM ledger ${condition}`).pluck().get(values) as number
    const rows = this.#db
      .prepare(`SELECT ${COLUMNS} FROM ledger ${condition} ORDER BY n DESC LIMIT @most OFFSET @from`)
      .all({ ...values, most, from })
    return { total, rows: rows.map((row) => this.#parse(row)) }
  }

  entry(n: number): LedgerEntry | undefined {
    const row = this.#db.prepare(`SELECT ${COLUMNS} FROM ledger WHERE n = ?`).get(n)
    return row === undefined ? undefined : this.#parse(row)
  }

  /** Walks the chain from its start. `firstBreak` names the first entry that does not fit. */
  verify(): { whole: boolean; entries: number; head: string; firstBreak: string | null } {
    let before = START
    let entries = 0
    const page = this.#db.prepare(`SELECT ${COLUMNS} FROM ledger WHERE n > ? ORDER BY n LIMIT 1000`)
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
      throw new StoreError('damaged', `${this.#db.name}: an entry of the ledger is not readable.`)
    return entry.data
  }
}
