import { stringify } from 'csv-stringify/sync'
import { isoUtc } from '../../../app/records/clock.ts'
import type { Reading } from '../../../app/records/reading.ts'

/** Column names with their units; the unit of raw and value stands in its own column, row by row. */
export const CSV_COLUMNS = [
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

const plainNumber = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/
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

/** RFC 4180: comma, CRLF, quotes only where they are needed, a point in numbers. */
export const csvHeader = () => stringify([[...CSV_COLUMNS]], { record_delimiter: 'windows' })

export function csvRows(readings: readonly Reading[]): string {
  return stringify(
    readings.map((r) => [
      r.seq,
      isoUtc(r.utcUs),
      sessionSeconds(r.monoUs),
      guardCell(r.channel),
      guardCell(r.raw),
      r.value ?? '',
      r.unit,
      r.currentMa ?? '',
      r.marks.join(' '),
    ]),
    { record_delimiter: 'windows' },
  )
}

/** One JSON object per line; value stays decimal text, so that no digit is lost on the way. */
export function jsonLines(readings: readonly Reading[]): string {
  return readings.map((r) => `${JSON.stringify({ ...r, utc: isoUtc(r.utcUs) })}\n`).join('')
}
