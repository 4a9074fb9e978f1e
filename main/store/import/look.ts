import { parse } from 'csv-parse/sync'
import { DELIMITERS, type TableLook } from '../../../app/contract/tables.ts'
import { said } from '../../../app/messages/said.ts'
import type { RawUnit } from '../../../app/records/reading.ts'
import { StoreError } from '../errors.ts'
import { isOwnHeading } from '../export/text.ts'
import { readTime, type TimeForm } from './time.ts'

/** Lines looked at; a table that changes its shape after them is refused when it is imported. */
const LINES = 40
const SHOWN = 5
const WITH_POINT = /^\s*[+-]?\d*\.\d+([eE][+-]?\d+)?\s*$/
const WITH_COMMA = /^\s*[+-]?\d*,\d+([eE][+-]?\d+)?\s*$/
const NUMBER = /^\s*[+-]?(\d+[.,]?\d*|[.,]\d+)([eE][+-]?\d+)?\s*$/
/** What a heading says of its unit; the first that matches counts. */
const UNITS: readonly (readonly [RegExp, RawUnit])[] = [
  [/ratio/i, 'ratio'],
  [/\bohms?\b|Ω|\u2126|resistance/i, 'ohm'],
  [/\bmV\b/, 'mV'],
  [/\bV\b|volt/i, 'V'],
  [/\bmA\b/, 'mA'],
  [/degC|°\s?C|celsius|temperature|\btemp\b/i, 'degC'],
  [/\bhPa\b/, 'hPa'],
  [/\bPa\b/, 'Pa'],
  [/%/, '%'],
  [/\bK\b/, 'K'],
]

/**
 * Looks at the beginning of a table recorded elsewhere and guesses what it takes to read it: the sign between cells, the
 * decimal sign, the column of times and the columns of numbers. A person confirms or changes each. Throws StoreError
 * 'refused' where the text is no table with a heading and a row.
 */
export function lookAtTable(text: string): TableLook {
  const lines = text
    .replace(/^\uFEFF/, '')
    .split(/\r?\n/)
    .filter((line) => line.trim() !== '' && !line.startsWith('#'))
    .slice(0, LINES)
  const tables = DELIMITERS.map((delimiter) => ({ delimiter, cells: cellsOf(lines, delimiter) }))
  const best = tables.reduce((a, b) => (evenness(b.cells) > evenness(a.cells) ? b : a))
  const { delimiter, cells } = best
  const [columns, ...rows] = cells
  if (!columns || rows.length === 0 || columns.length < 2) {
    throw new StoreError('refused', said('not-a-table', {}))
  }
  const inColumn = columns.map((_, i) => rows.map((row) => row[i] ?? ''))
  const decimalSign = delimiter !== ',' && count(rows, WITH_COMMA) > count(rows, WITH_POINT) ? ',' : '.'
  const own = isOwnHeading(columns)
  const time = own ? null : timeColumn(columns, inColumn)
  const numbers = columns.flatMap((column, i) => {
    const filled = inColumn[i]!.filter((cell) => cell.trim() !== '')
    const numeric = filled.filter((cell) => NUMBER.test(cell)).length
    if (own || column === time?.column || numeric === 0 || numeric < filled.length / 2) return []
    return [{ column, unit: unitOf(column) }]
  })
  return { columns, rows: rows.slice(0, SHOWN), delimiter, decimalSign, own, time, numbers }
}

function cellsOf(lines: readonly string[], delimiter: string): string[][] {
  try {
    return parse(lines.join('\n'), { delimiter, relax_quotes: true, relax_column_count: true })
  } catch {
    return []
  }
}

/** How much of a table a sign makes: cells in a row, where all rows have as many as the heading. */
function evenness(cells: readonly string[][]): number {
  const width = cells[0]?.length ?? 0
  const even = cells.filter((row) => row.length === width).length / Math.max(1, cells.length)
  return width > 1 ? even * even * Math.min(width, 20) : 0
}

const count = (rows: readonly string[][], form: RegExp) =>
  rows.reduce((sum, row) => sum + row.filter((cell) => form.test(cell)).length, 0)

function timeColumn(columns: readonly string[], inColumn: readonly string[][]): TableLook['time'] {
  for (const [i, column] of columns.entries()) {
    const cells = inColumn[i]!.slice(0, SHOWN)
    const reads = (offsetMin?: number) =>
      cells.every((cell) => readTime(cell, { form: 'iso', offsetMin, originUtcUs: 0 }) !== undefined)
    if (cells.length > 0 && reads(0)) return { column, form: 'iso', zoned: reads() }
  }
  for (const [i, column] of columns.entries()) {
    const numbers = inColumn[i]!.map((cell) => Number(cell.replace(',', '.')))
    const rises = numbers.every((value, at) => Number.isFinite(value) && value >= (numbers[at - 1] ?? value))
    if (rises && /time|second|elapsed|\b(t|s|ms|us|µs)\b/i.test(column)) {
      return { column, form: countForm(column), zoned: true }
    }
  }
  return null
}

function countForm(column: string): TimeForm {
  if (/\b(us|µs)\b|microsecond/i.test(column)) return 'us'
  return /\bms\b|millisecond/i.test(column) ? 'ms' : 's'
}

const unitOf = (column: string): RawUnit => UNITS.find(([form]) => form.test(column))?.[1] ?? 'ratio'
