import { copyCells } from '../text/save.ts'
import type { Column } from './table.column.ts'
import { cellsAsHtml, cellsAsText } from './table.model.ts'
import { tableCells } from './table-text.ts'

/** Copies rows, with their headings unless told otherwise; into `clipboard` where a copy is under way. */
export function copyTable<R>(
  columns: readonly Column<R>[],
  rows: readonly R[],
  what: string,
  { headings = true, clipboard }: { headings?: boolean; clipboard?: DataTransfer | undefined } = {},
): void {
  const cells = tableCells(columns, rows, headings)
  copyCells(cellsAsText(cells), cellsAsHtml(cells, headings), what, clipboard)
}
