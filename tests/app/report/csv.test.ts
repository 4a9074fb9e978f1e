import { parse } from 'csv-parse/sync'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { csvLine, safeCell } from '../../../app/report/csv.ts'

describe('safeCell', () => {
  it('disarms text that a spreadsheet would take for a formula', () => {
    expect(safeCell('=1+1')).toBe("'=1+1")
    expect(safeCell('@SUM(A1)')).toBe("'@SUM(A1)")
    expect(safeCell('-2+3')).toBe("'-2+3")
    expect(safeCell('\t=1')).toBe("'\t=1")
  })

  it('leaves numbers as they were sent', () => {
    expect(safeCell('-1.000000123E+00')).toBe('-1.000000123E+00')
    expect(safeCell('+0.5')).toBe('+0.5')
    expect(safeCell(-3)).toBe('-3')
    expect(safeCell(null)).toBe('')
    expect(safeCell(Number.NaN)).toBe('')
  })
})

describe('csvLine', () => {
  it('is read back by another reader of RFC 4180, cell by cell', () => {
    const cell = fc.string().filter((s) => !s.includes('\u0000'))
    fc.assert(
      fc.property(fc.array(cell, { minLength: 2, maxLength: 6 }), (cells) => {
        const [row] = parse(csvLine(cells), {
          record_delimiter: '\r\n',
          relax_column_count: true,
        }) as string[][]
        expect(row).toEqual(cells.map(safeCell))
      }),
    )
  })
})
