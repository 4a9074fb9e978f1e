/** What a table of cells can do without a screen: order its rows, move a cursor, spread a selection, be copied. */

export type CellValue = number | string | null

/** A cell by its place on show; row -1 is that of the headings. */
export interface Place {
  row: number
  column: number
}

/** The cells between two corners; the cursor is the one that has the focus. */
export interface Selection {
  anchor: Place
  cursor: Place
}

export interface Sorting {
  column: string
  down: boolean
}

export interface Range {
  top: number
  bottom: number
  left: number
  right: number
}

export interface Size {
  rows: number
  columns: number
  /** Rows that a page key goes by. */
  page: number
}

/** A heading pressed once orders upwards, again downwards, and a third time gives the rows their own order back. */
export function nextSorting(now: Sorting | null, column: string): Sorting | null {
  if (now?.column !== column) return { column, down: false }
  return now.down ? null : { column, down: true }
}

const words = new Intl.Collator(undefined, { numeric: true, sensitivity: 'base' })

/** Numbers before words; nothing comes last, whichever way the order goes. Rows that are equal stay as they were. */
export function sortRows<R>(rows: readonly R[], value: (row: R) => CellValue, down: boolean): readonly R[] {
  const empty = (v: CellValue) => v === null || v === '' || Number.isNaN(v)
  const keyed = rows.map((row) => ({ row, key: value(row) }))
  keyed.sort((a, b) => {
    if (empty(a.key) || empty(b.key)) return Number(empty(a.key)) - Number(empty(b.key))
    const order =
      typeof a.key === 'number' && typeof b.key === 'number'
        ? a.key - b.key
        : typeof a.key !== typeof b.key
          ? Number(typeof a.key === 'string') - Number(typeof b.key === 'string')
          : words.compare(String(a.key), String(b.key))
    return down ? -order : order
  })
  return keyed.map(({ row }) => row)
}

export function rangeOf({ anchor, cursor }: Selection): Range {
  return {
    top: Math.min(anchor.row, cursor.row),
    bottom: Math.max(anchor.row, cursor.row),
    left: Math.min(anchor.column, cursor.column),
    right: Math.max(anchor.column, cursor.column),
  }
}

export const isWithin = ({ top, bottom, left, right }: Range, row: number, column: number): boolean =>
  row >= top && row <= bottom && column >= left && column <= right

export const isOne = ({ anchor, cursor }: Selection): boolean =>
  anchor.row === cursor.row && anchor.column === cursor.column

/** A selection that still lies on the table after its rows or columns became fewer. */
export function clamped({ anchor, cursor }: Selection, size: Size): Selection {
  const on = ({ row, column }: Place): Place => ({
    row: Math.min(row, size.rows - 1),
    column: Math.max(0, Math.min(column, size.columns - 1)),
  })
  return { anchor: on(anchor), cursor: on(cursor) }
}

/** A key with its modifiers; `mod` is Control, or Command on a Mac. */
export interface Pressed {
  key: string
  shift: boolean
  mod: boolean
}

/**
 * Where a key leads, by the keys of the WAI-ARIA grid pattern; undefined for a key that means nothing here, so that Tab
 * and the window's own keys stay what they are.
 */
export function moved(selection: Selection, pressed: Pressed, size: Size): Selection | undefined {
  const { key, shift, mod } = pressed
  const lastRow = size.rows - 1
  const lastColumn = size.columns - 1
  if (mod && key.toLowerCase() === 'a' && size.rows > 0)
    return { anchor: { row: 0, column: 0 }, cursor: { row: lastRow, column: lastColumn } }
  if (key === ' ' && mod && size.rows > 0) {
    const { column } = selection.cursor
    return { anchor: { row: 0, column }, cursor: { row: lastRow, column } }
  }
  if (key === ' ' && shift) {
    const { row } = selection.cursor
    return { anchor: { row, column: 0 }, cursor: { row, column: lastColumn } }
  }
  if (key === 'Escape') return isOne(selection) ? undefined : { ...selection, anchor: selection.cursor }
  const to = target(selection.cursor, key, mod, size)
  if (!to) return undefined
  const first = shift && size.rows > 0 ? 0 : -1
  const cursor = {
    row: Math.max(first, Math.min(to.row, lastRow)),
    column: Math.max(0, Math.min(to.column, lastColumn)),
  }
  return { anchor: shift && selection.anchor.row >= 0 ? selection.anchor : cursor, cursor }
}

function target({ row, column }: Place, key: string, mod: boolean, size: Size): Place | undefined {
  const lastRow = size.rows - 1
  const lastColumn = size.columns - 1
  switch (key) {
    case 'ArrowUp':
      return { row: mod ? 0 : row - 1, column }
    case 'ArrowDown':
      return { row: mod ? lastRow : row + 1, column }
    case 'ArrowLeft':
      return { row, column: mod ? 0 : column - 1 }
    case 'ArrowRight':
      return { row, column: mod ? lastColumn : column + 1 }
    case 'Home':
      return { row: mod ? 0 : row, column: 0 }
    case 'End':
      return { row: mod ? lastRow : row, column: lastColumn }
    case 'PageUp':
      return { row: Math.max(0, row - size.page), column }
    case 'PageDown':
      return { row: row + size.page, column }
    default:
      return undefined
  }
}

/** A number for a spreadsheet: every digit there is, no groups, a plain minus, and the reader's decimal sign. */
export function cellText(value: CellValue, decimalSign: '.' | ','): string {
  if (value === null) return ''
  if (typeof value === 'number') return Number.isFinite(value) ? String(value).replace('.', decimalSign) : ''
  // A tab or a line's end within a cell would tear the table.
  return value.replace(/[\t\r\n]+/g, ' ')
}

/** Cells as tab-separated text, a line a row. */
export const cellsAsText = (cells: readonly (readonly string[])[]): string =>
  cells.map((row) => row.join('\t')).join('\n')

const escaped = (text: string) =>
  text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('>', '&gt;')

/** The same as a table for a text: headings where `headings` says so. */
export function cellsAsHtml(cells: readonly (readonly string[])[], headings: boolean): string {
  const row = (texts: readonly string[], tag: 'th' | 'td') =>
    `<tr>${texts.map((text) => `<${tag}>${escaped(text)}</${tag}>`).join('')}</tr>`
  return `<table>${cells.map((texts, i) => row(texts, headings && i === 0 ? 'th' : 'td')).join('')}</table>`
}

/** What a spreadsheet put on the clipboard, as rows of cells. */
export function pastedCells(text: string): string[][] {
  const lines = text.replace(/\r\n?/g, '\n').replace(/\n$/, '')
  return lines === '' ? [] : lines.split('\n').map((line) => line.split('\t').map((cell) => cell.trim()))
}

/** What the numbers of a selection have in common; undefined with fewer than two. */
export function summary(
  values: readonly CellValue[],
): { n: number; mean: number; low: number; high: number } | undefined {
  const numbers = values.filter((v) => typeof v === 'number' && Number.isFinite(v)) as number[]
  if (numbers.length < 2) return undefined
  const [first = 0] = numbers
  // Taken from the first one: values that agree in many digits keep the digits in which they differ.
  const mean = first + numbers.reduce((sum, v) => sum + (v - first), 0) / numbers.length
  return { n: numbers.length, mean, low: Math.min(...numbers), high: Math.max(...numbers) }
}
