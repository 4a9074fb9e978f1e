import { describe, expect, it } from 'vitest'
import { printedProse } from '../../../app/report/prose.ts'

describe('printedProse', () => {
  it.each([
    ['a coverage probability of 95.45 %, k = 2.00', 'a coverage probability of 95,45 %, k = 2,00'],
    ['R(0.01 °C), from 14.98 °C to 94.98 °C', 'R(0,01 °C), from 14,98 °C to 94,98 °C'],
    ['14.98 to 15.02 °C, at most 0.5 mK/min', '14,98 to 15,02 °C, at most 0,5 mK/min'],
    [
      '23.0 bis 23.5 °C, de 43.5 a 50.1 %, de 1010.5 à 1017.5 hPa',
      '23,0 bis 23,5 °C, de 43,5 a 50,1 %, de 1010,5 à 1017,5 hPa',
    ],
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
