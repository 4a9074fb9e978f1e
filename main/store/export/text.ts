import { stringify } from 'csv-stringify/sync'
import { isoUtc } from '../../../app/base/clock.ts'
import type { Reading } from '../../../app/records/reading.ts'
import type { Shown } from './shown.ts'

/** What was stored of a reading; the unit of raw and value stands in its own column, row by row. */
export const STORED_COLUMNS = [
  'seq',
  'utc',
  'session time (s)',
  'channel',
  'raw',
  'value',
  'unit',
  'measuring current (mA)',
  'marks',
] as const

/** Every column with its unit: what was stored, then what it means. */
export const CSV_COLUMNS = [
  ...STORED_COLUMNS,
  'channel name',
  'thermometer',
  'serial number',
  'resistance (ohm)',
  'voltage (mV)',
  'temperature (degC)',
  'U of temperature (mK, k = 2)',
  'shown',
  'unit shown',
] as const

/** Whether a heading is of a table that this program wrote, also before it said what readings mean. */
export const isOwnHeading = (columns: readonly string[]): boolean =>
  STORED_COLUMNS.every((name, i) => columns[i] === name)

export const plainNumber = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/
const risky = /^[=+\-@\t\r']/

/**
 * A cell that a spreadsheet would run as a formula gets an apostrophe before it; so does one that begins with an
 * apostrophe, so that taking one away always gives back what was received. Numbers stay as they are.
 */
export const guardCell = (text: string) => (risky.test(text) && !plainNumber.test(text) ? `'${text}` : text)

/** What guardCell put in is taken out. */
export const unguardCell = (text: string) => (text.startsWith("'") ? text.slice(1) : text)

/** Seconds of the session's own count with every microsecond, as decimal text. */
export function sessionSeconds(monoUs: number): string {
  const us = Math.abs(monoUs)
  const whole = Math.floor(us / 1_000_000)
  return `${monoUs < 0 ? '-' : ''}${whole}.${String(us % 1_000_000).padStart(6, '0')}`
}

/**
 * How a table is written. 'point': RFC 4180, a comma between cells and a point in numbers. 'comma': a semicolon between
 * cells and a comma in numbers, as spreadsheets of many countries take it without being asked.
 */
export type TableStyle = 'point' | 'comma'

export const FORM = {
  point: { delimiter: ',', record_delimiter: 'windows' },
  comma: { delimiter: ';', record_delimiter: 'windows' },
} as const

/** CRLF, quotes only where they are needed. */
export const csvHeader = (style: TableStyle = 'point') => stringify([[...CSV_COLUMNS]], FORM[style])

/** What has to stand in quotes: RFC 4180, 2.6. */
const QUOTED = { point: /[",\r\n]/, comma: /[";\r\n]/ } as const

/** A cell as it stands in the file. */
export const quoted = (text: string, style: TableStyle) =>
  QUOTED[style].test(text) ? `"${text.replaceAll('"', '""')}"` : text

/** One JSON object per line; value stays decimal text, so that no digit is lost on the way. */
export function jsonLines(readings: readonly Reading[], shownOf: (reading: Reading) => Shown): string {
  return readings.map((r) => `${JSON.stringify({ ...r, utc: isoUtc(r.utcUs), ...shownOf(r) })}\n`).join('')
}
