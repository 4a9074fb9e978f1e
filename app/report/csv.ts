const NUMBER = /^[+-]?(\d+[.,]?\d*|[.,]\d+)([eE][+-]?\d+)?$/

/**
 * A cell that no spreadsheet takes for a formula: text that begins with a sign of one gets an apostrophe before it;
 * numbers keep their digits as they are.
 */
export function safeCell(value: string | number | null): string {
  if (value === null) return ''
  const text = typeof value === 'number' ? (Number.isFinite(value) ? String(value) : '') : value
  return /^[=+\-@\t\r]/.test(text) && !NUMBER.test(text) ? `'${text}` : text
}

/** One record of RFC 4180: commas (or semicolons) between, CR LF, quotes where they are needed. */
export function csvLine(cells: readonly (string | number | null)[], between: ',' | ';' = ','): string {
  return `${cells
    .map(safeCell)
    .map((text) =>
      /["\r\n]/.test(text) || text.includes(between) ? `"${text.replaceAll('"', '""')}"` : text,
    )
    .join(between)}\r\n`
}
