import { describe, expect, it } from 'vitest'
import { at, columnOf, entryOf, first, last, needed, neighbours, zip } from '../../../app/base/lists.ts'

describe('a value at a place', () => {
  it('counts from 0', () => {
    expect([at(['a', 'b'], 0), at(['a', 'b'], 1)]).toEqual(['a', 'b'])
    expect(at(Float64Array.of(1, 2), 1)).toBe(2)
    expect([first([3, 4]), last([3, 4])]).toEqual([3, 4])
  })

  it('is a fault where there is none', () => {
    for (const place of [2, -1, 0.5, Number.NaN]) {
      expect(() => at(['a', 'b'], place)).toThrow(`There is no place ${place} in a list of 2.`)
    }
    expect(() => first([])).toThrow('There is no place 0 in a list of 0.')
    expect(() => last([])).toThrow('There is no place -1 in a list of 0.')
  })

  it('is not undefined', () => {
    expect(() => at([undefined], 0)).toThrow('There is no place 0 in a list of 1.')
    expect([at([null], 0), at([Number.NaN], 0)]).toEqual([null, Number.NaN])
  })
})

describe('what has to be there', () => {
  it('is given back, also where it is nothing much', () => {
    expect([needed(0, 'number'), needed('', 'text'), needed(false, 'answer')]).toEqual([0, '', false])
    expect(entryOf(new Map([['a', 1]]), 'a')).toBe(1)
  })

  it('is named where it is not', () => {
    expect(() => needed(undefined, 'bath')).toThrow('There is no bath.')
    expect(() => needed(null, 'bath')).toThrow('There is no bath.')
    expect(() => entryOf(new Map([['a', 1]]), 'b')).toThrow('There is no entry b.')
  })
})

describe('lists side by side', () => {
  it('are pairs, place by place, and a fault where one is longer', () => {
    expect(zip(['a', 'b'], Float64Array.of(1, 2))).toEqual([
      ['a', 1],
      ['b', 2],
    ])
    expect(() => zip([1], [])).toThrow('Lists of 1 and 0 are no pairs.')
  })

  it('give each value with the next', () => {
    expect(neighbours([1, 4, 9])).toEqual([
      [1, 4],
      [4, 9],
    ])
    expect([neighbours([1]), neighbours([])]).toEqual([[], []])
  })

  it('give a column, which every row must have', () => {
    expect(
      columnOf(
        [
          [1, 2],
          [3, 4],
        ],
        1,
      ),
    ).toEqual([2, 4])
    expect(() => columnOf([[1, 2], [3]], 1)).toThrow('There is no place 1 in a list of 1.')
  })
})
