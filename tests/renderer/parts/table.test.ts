import { afterEach, describe, expect, it } from 'vitest'
import {
  cellsAsHtml,
  cellsAsText,
  cellText,
  clamped,
  isOne,
  moved,
  nextSorting,
  pastedCells,
  rangeOf,
  type Selection,
  sortRows,
  summary,
} from '../../../renderer/parts/table.model.ts'
import { headingText, tableCells } from '../../../renderer/parts/table-text.ts'
import { setDecimalSign } from '../../../renderer/text/numbers.ts'

const SIZE = { rows: 20, columns: 4, page: 6 }
const at = (row: number, column: number): Selection => ({
  anchor: { row, column },
  cursor: { row, column },
})
const press = (from: Selection, key: string, more: { shift?: boolean; mod?: boolean } = {}) =>
  moved(from, { key, shift: more.shift ?? false, mod: more.mod ?? false }, SIZE)

afterEach(() => setDecimalSign('.'))

describe('moved', () => {
  it('goes by one cell with an arrow, to the headings above the first row, and not beyond the last', () => {
    expect(press(at(3, 1), 'ArrowDown')).toEqual(at(4, 1))
    expect(press(at(0, 1), 'ArrowUp')).toEqual(at(-1, 1))
    expect(press(at(-1, 0), 'ArrowUp')).toEqual(at(-1, 0))
    expect(press(at(19, 3), 'ArrowRight')).toEqual(at(19, 3))
  })

  it('goes to the ends of a row, of the table, and by a page', () => {
    expect(press(at(3, 1), 'End')).toEqual(at(3, 3))
    expect(press(at(3, 1), 'Home', { mod: true })).toEqual(at(0, 0))
    expect(press(at(3, 1), 'End', { mod: true })).toEqual(at(19, 3))
    expect(press(at(3, 1), 'PageDown')).toEqual(at(9, 1))
    expect(press(at(3, 1), 'PageUp')).toEqual(at(0, 1))
  })

  it('spreads the range from its anchor with Shift, and never into the headings', () => {
    const two = press(at(1, 1), 'ArrowUp', { shift: true })!
    expect(rangeOf(two)).toEqual({ top: 0, bottom: 1, left: 1, right: 1 })
    expect(rangeOf(press(two, 'ArrowUp', { shift: true })!)).toEqual(rangeOf(two))
    expect(press(two, 'ArrowDown')).toEqual(at(1, 1))
  })

  it('takes everything, a row or a column', () => {
    expect(rangeOf(press(at(3, 1), 'a', { mod: true })!)).toEqual({ top: 0, bottom: 19, left: 0, right: 3 })
    expect(rangeOf(press(at(3, 1), ' ', { shift: true })!)).toMatchObject({ top: 3, left: 0, right: 3 })
    expect(rangeOf(press(at(3, 1), ' ', { mod: true })!)).toMatchObject({ top: 0, bottom: 19, left: 1 })
  })

  it('lets Escape fold a range to its cursor, and pass where there is none', () => {
    const range: Selection = { anchor: { row: 1, column: 0 }, cursor: { row: 4, column: 2 } }
    expect(press(range, 'Escape')).toEqual(at(4, 2))
    expect(press(at(4, 2), 'Escape')).toBeUndefined()
  })

  it('leaves Tab and letters to the window', () => {
    for (const key of ['Tab', 'w', '4', 'Enter']) expect(press(at(0, 0), key)).toBeUndefined()
  })
})

describe('clamped', () => {
  it('keeps a selection on a table that became smaller, down to its headings alone', () => {
    expect(clamped(at(19, 3), { rows: 2, columns: 2, page: 1 })).toEqual(at(1, 1))
    expect(clamped(at(5, 1), { rows: 0, columns: 2, page: 1 })).toEqual(at(-1, 1))
  })
})

describe('sortRows', () => {
  const rows = [10, null, 9, Number.NaN, -1]
  it('orders numbers as numbers and puts nothing last in both directions', () => {
    expect(sortRows(rows, (v) => v, false)).toEqual([-1, 9, 10, null, Number.NaN])
    expect(sortRows(rows, (v) => v, true)).toEqual([10, 9, -1, null, Number.NaN])
  })

  it('orders numbers within words, and leaves equal rows as they were', () => {
    expect(sortRows(['T 10', 'T 9', 'a', 'T 2'], (v) => v, false)).toEqual(['a', 'T 2', 'T 9', 'T 10'])
    const equal = [{ n: 1 }, { n: 2 }, { n: 3 }]
    expect(sortRows(equal, () => 0, true)).toEqual(equal)
  })
})

describe('nextSorting', () => {
  it('goes up, down and back to the rows’ own order', () => {
    const up = nextSorting(null, 'a')
    expect(up).toEqual({ column: 'a', down: false })
    const down = nextSorting(up, 'a')
    expect(down).toEqual({ column: 'a', down: true })
    expect(nextSorting(down, 'a')).toBeNull()
    expect(nextSorting(down, 'b')).toEqual({ column: 'b', down: false })
  })
})

describe('tableCells', () => {
  const columns = [
    { id: 'name', name: 'Point', value: (row: { n: number; r: number }) => row.n },
    { id: 'r', name: 'Signal', unit: 'ohm', value: (row: { n: number; r: number }) => row.r },
    { id: 'acts', name: 'Acts', acts: true, value: () => 'never' },
  ]
  const rows = [{ n: 1, r: 105.81874680297814 }]

  it('has units in the headings, every digit, and no column of buttons', () => {
    expect(cellsAsText(tableCells(columns, rows))).toBe('Point\tSignal / Ω\n1\t105.81874680297814')
    expect(headingText(columns[0]!)).toBe('Point')
  })

  it('writes the decimal sign that the reader’s spreadsheet reads', () => {
    setDecimalSign(',')
    expect(tableCells(columns, rows, false)).toEqual([['1', '105,81874680297814']])
  })
})

describe('cellText', () => {
  it('keeps a cell in one cell', () => {
    expect(cellText('a\tb\r\nc', '.')).toBe('a b c')
    expect(cellText(null, '.')).toBe('')
    expect(cellText(-5.8e-7, ',')).toBe('-5,8e-7')
  })
})

describe('cellsAsHtml', () => {
  it('is a table in which no text can become a tag', () => {
    expect(cellsAsHtml([['a < b'], ['1 & 2']], true)).toBe(
      '<table><tr><th>a &lt; b</th></tr><tr><td>1 &amp; 2</td></tr></table>',
    )
  })
})

describe('pastedCells', () => {
  it('reads what a spreadsheet puts on the clipboard, with or without a last line’s end', () => {
    expect(pastedCells('0\tup\r\n49,5\t\r\n')).toEqual([
      ['0', 'up'],
      ['49,5', ''],
    ])
    expect(pastedCells('')).toEqual([])
  })
})

describe('summary', () => {
  it('keeps the digits in which values of many digits differ', () => {
    const found = summary([1e9 + 0.001, 1e9 + 0.003, null, 'x'])!
    expect(found.n).toBe(2)
    expect(found.mean - 1e9).toBeCloseTo(0.002, 6)
    expect(summary([1, 'x'])).toBeUndefined()
    expect(isOne(at(0, 0))).toBe(true)
  })
})
