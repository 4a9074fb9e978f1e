import { at } from '../base/lists.ts'
import { printed } from '../base/rounding.ts'
import type { Block, Cell } from './blocks.ts'
import type { ReportContent } from './content-types.ts'
import { cellText } from './numbers.ts'
import { printedProse } from './prose.ts'

/** How the words and numbers of a report come onto paper or screen; none of it changes a digit. */

const NUMBER = /^-?\d+(\.\d+)?$/
const PRINTED_NUMBER = /^−?\d+(?:[.,](\d+))?$/
/** As wide as a digit, and as wide as a decimal sign. */
const FIGURE_SPACE = '\u2007'
const SIGN_SPACE = '\u2008'

/** The words of a cell as they are printed. */
export function cellWords(cell: Cell, report: Pick<ReportContent, 'numbers' | 'decimalSign'>): string {
  const text = cellText(cell, report.numbers)
  if (typeof cell === 'string' && !NUMBER.test(text)) return printedProse(text, report.decimalSign)
  return printed(text, report.decimalSign)
}

/** Numbers of a column padded so that their decimal signs stand below one another; powers of ten are left as they are. */
function alignedColumn(words: readonly string[]): string[] {
  const decimals = words.map((w) => {
    const match = PRINTED_NUMBER.exec(w)
    return match ? (match[1]?.length ?? 0) : null
  })
  if (words.some((w) => w.includes('×'))) return [...words]
  const most = Math.max(0, ...decimals.map((d) => d ?? 0))
  return words.map((w, i) => {
    const own = decimals[i]
    if (own === null || own === undefined || own === most) return w
    return w + (own === 0 ? SIGN_SPACE : '') + FIGURE_SPACE.repeat(most - own)
  })
}

/** The words of a table's cells, row by row, decimal columns aligned. */
export function tableWords(
  block: Extract<Block, { kind: 'table' }>,
  report: Pick<ReportContent, 'numbers' | 'decimalSign'>,
): string[][] {
  const rows = block.rows.map((row) => row.map((cell) => cellWords(cell, report)))
  block.columns.forEach(({ align }, c) => {
    if (align !== 'decimal') return
    const column = alignedColumn(rows.map((row) => row[c] ?? ''))
    column.forEach((w, r) => {
      if (at(rows, r)[c] !== undefined) at(rows, r)[c] = w
    })
  })
  return rows
}
