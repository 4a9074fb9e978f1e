import { decimalSignNow, unitSign } from '../text/numbers.ts'
import type { Column } from './table.column.ts'
import { cellText } from './table.model.ts'

/** A heading as it is copied: 'Residual / mK'. */
export const headingText = <R>({ name, unit }: Column<R>): string => {
  const sign = unitSign(unit ?? '')
  return sign === '' ? name : `${name} / ${sign}`
}

/** Rows as a spreadsheet takes them, every digit there is; columns of buttons are left out. */
export function tableCells<R>(
  columns: readonly Column<R>[],
  rows: readonly R[],
  headings = true,
): string[][] {
  const copied = columns.filter(({ acts }) => !acts)
  const cells = rows.map((row) => copied.map((column) => cellText(column.value(row), decimalSignNow())))
  return headings ? [copied.map(headingText), ...cells] : cells
}
