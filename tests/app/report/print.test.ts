import { describe, expect, it } from 'vitest'
import type { Block, ReportNumber } from '../../../app/report/blocks.ts'
import { cellWords, tableWords } from '../../../app/report/print.ts'

const number = (value: string): ReportNumber => ({
  name: 'n',
  value,
  unit: 'mK',
  uncertainty: null,
  k: null,
  exact: Number(value),
})

const report = {
  decimalSign: ',' as const,
  numbers: { a: number('1.5'), b: number('0.0069'), c: number('-12'), d: number('3.9e-7') },
}

const table = (keys: readonly (keyof typeof report.numbers)[]): Extract<Block, { kind: 'table' }> => ({
  kind: 'table',
  caption: 'c',
  columns: [{ head: 'u', align: 'decimal' }],
  rows: keys.map((key) => [{ key, show: 'value' }]),
})

describe('tableWords', () => {
  it('puts the decimal signs of a column below one another, and takes no digit away', () => {
    const words = tableWords(table(['a', 'b', 'c']), report).map(([w]) => w!)
    expect(words.map((w) => w.trimEnd())).toEqual(['1,5', '0,0069', '−12'])
    // A figure space is as wide as a digit, a punctuation space about as wide as the sign.
    expect(words).toEqual(['1,5\u2007\u2007\u2007', '0,0069', '−12\u2008\u2007\u2007\u2007\u2007'])
  })

  it('leaves a column with powers of ten as it is', () => {
    expect(tableWords(table(['a', 'd']), report)).toEqual([['1,5'], ['3,9 × 10⁻⁷']])
  })
})

describe('cellWords', () => {
  it('prints numbers in text cells like numbers, and words as words', () => {
    expect(cellWords('52.9', report)).toBe('52,9')
    expect(cellWords('8.1.2', report)).toBe('8.1.2')
  })
})
