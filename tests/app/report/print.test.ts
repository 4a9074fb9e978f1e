import { describe, expect, it } from 'vitest'
import type { Block, ReportNumber } from '../../../app/report/blocks.ts'
import { cellWords, printedProse, tableWords } from '../../../app/report/print.ts'

describe('printedProse', () => {
  it.each([
    ['a coverage probability of 95.45 %, k = 2.00', 'a coverage probability of 95,45 %, k = 2,00'],
    ['R(0.01 °C), from 14.98 °C to 94.98 °C', 'R(0,01 °C), from 14,98 °C to 94,98 °C'],
    ['14.98 to 15.02 °C, at most 0.5 mK/min', '14,98 to 15,02 °C, at most 0,5 mK/min'],
    ['-0.14 mK ± 0.29 mK', '−0,14 mK ± 0,29 mK'],
  ])('gives the quantities of “%s” the decimal sign', (text, printed) => {
    expect(printedProse(text, ',')).toBe(printed)
  })

  it.each([
    'Subrange 3.3.2.4 of ITS-90, section 3.3',
    'recorded by Stillpoint 0.1.0',
    'JCGM 101:2008, 7.9.2 and 8.1',
    'certificate QTI-2025-11.87 of 2025-06-12',
  ])('leaves the numbers of “%s” alone', (text) => {
    expect(printedProse(text, ',')).toBe(text)
  })
})

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
