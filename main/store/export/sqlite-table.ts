import Database from 'better-sqlite3'
import { isoUtc } from '../../../app/base/clock.ts'
import type { Reading } from '../../../app/records/reading.ts'
import type { Shown } from './shown.ts'

const COLUMNS = [
  'seq INTEGER PRIMARY KEY',
  'utc TEXT NOT NULL',
  'session_time_us INTEGER NOT NULL',
  'channel TEXT NOT NULL',
  'raw TEXT NOT NULL',
  'value TEXT',
  'number REAL',
  'unit TEXT NOT NULL',
  'measuring_current_mA REAL',
  'marks TEXT NOT NULL',
  'channel_name TEXT NOT NULL',
  'thermometer TEXT NOT NULL',
  'serial_number TEXT NOT NULL',
  'resistance_ohm REAL',
  'voltage_mV REAL',
  'temperature_degC REAL',
  'U_of_temperature_mK_k2 REAL',
  'shown REAL',
  'unit_shown TEXT NOT NULL',
]

/** Readings as the one table `readings` of an SQLite database, and what the file is about as `about`. No session file. */
export class SqliteTableExport {
  readonly #db: Database.Database
  readonly #insert: Database.Statement

  constructor(path: string, about: Record<string, string>) {
    this.#db = new Database(path)
    // The file gets its name once it is whole: a journal beside it would guard nothing.
    this.#db.pragma('journal_mode = OFF')
    this.#db.exec(`CREATE TABLE readings (${COLUMNS.join(', ')}) STRICT;
      CREATE TABLE about (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT`)
    const keep = this.#db.prepare('INSERT INTO about VALUES (?, ?)')
    for (const [key, value] of Object.entries(about)) keep.run(key, value)
    this.#insert = this.#db.prepare(`INSERT INTO readings VALUES (${COLUMNS.map(() => '?').join(', ')})`)
  }

  write(readings: readonly Reading[], shownOf: (reading: Reading) => Shown): void {
    this.#db.transaction(() => {
      for (const r of readings) {
        const s = shownOf(r)
        this.#insert.run(
          r.seq,
          isoUtc(r.utcUs),
          r.monoUs,
          r.channel,
          r.raw,
          r.value,
          r.value === null ? null : Number(r.value),
          r.unit,
          r.currentMa,
          r.marks.join(' '),
          s.channelName,
          s.thermometer,
          s.serial,
          s.resistanceOhm,
          s.voltageMv,
          s.celsius,
          s.expandedMk,
          s.shown,
          s.shownUnit,
        )
      }
    })()
  }

  finish(): void {
    this.#db.close()
  }

  close(): void {
    this.#db.close()
  }
}
