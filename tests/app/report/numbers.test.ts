import { describe, expect, it } from 'vitest'
import { cellText, coverageOf, NumberBook, numberAt, uncertaintyOf } from '../../../app/report/numbers.ts'

describe('NumberBook', () => {
  it('rounds a value to the place of its uncertainty, and keeps the exact one beside it', () => {
    // JCGM 100:2008, 7.2.6: U to two digits, the value to the same place.
    const book = new NumberBook()
    const cell = book.add('r', { name: 'R', value: 25.481_283_4, unit: 'Ω', expanded: 0.000_020_3, k: 2 })
    expect(cell).toEqual({ key: 'r', show: 'value' })
    expect(numberAt(book.entries, 'r')).toEqual({
      ...{ name: 'R', value: '25.481283', unit: 'Ω', uncertainty: '0.000020', k: '2.00' },
      exact: 25.481_283_4,
    })
    expect(cellText(cell, book.entries)).toBe('25.481283')
    expect(cellText(uncertaintyOf('r'), book.entries)).toBe('0.000020')
    expect(cellText(coverageOf('r'), book.entries)).toBe('2.00')
  })

  it('keeps more places of coefficients that are used together', () => {
    const book = new NumberBook()
    book.add('c', { name: 'c', value: 1.234_567_89, unit: '1', expanded: 0.012, extraPlaces: 3 })
    expect(numberAt(book.entries, 'c')).toMatchObject({ value: '1.234568', uncertainty: '0.012' })
  })

  it('rounds a number without an uncertainty like the one that is said, and states none', () => {
    const book = new NumberBook()
    const cell = book.add('d', { name: 'd', value: 1.23456, unit: 'mK', roundLike: 0.1 })
    expect(numberAt(book.entries, 'd')).toMatchObject({ value: '1.23', uncertainty: null, k: null })
    expect(cellText(cell, book.entries)).toBe('1.23')
    expect(cellText(uncertaintyOf('d'), book.entries)).toBe('')
    expect(cellText(coverageOf('d'), book.entries)).toBe('')
  })

  it('enters a size by the digits that mean anything', () => {
    const book = new NumberBook()
    book.size('u', 'u', 0.012_345, 'K')
    book.size('v', 'v', 0.012_345, 'K', 3)
    expect(numberAt(book.entries, 'u')).toMatchObject({ value: '0.012', uncertainty: null, exact: 0.012_345 })
    expect(numberAt(book.entries, 'v').value).toBe('0.0123')
  })

  it('shows words as they are, and nothing for a number that is not there', () => {
    expect(cellText('words', {})).toBe('words')
    expect(cellText({ key: 'gone', show: 'value' }, {})).toBe('')
    expect(() => numberAt({}, 'gone')).toThrow(/number gone/)
  })
})
