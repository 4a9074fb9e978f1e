import { expect, it } from 'vitest'
import { said } from '../../app/messages/said.ts'
import { StoreError } from '../../main/store/errors.ts'
import { readingPages } from '../../main/store/pages.ts'
import type { SessionFile } from '../../main/store/session-file.ts'
import { reading } from '../app/results/bench-fixture.ts'

/** A file whose bytes make no sense at some of its readings, and that lacks others. */
function fileWith({
  last,
  spoilt = [],
  missing = [],
}: {
  last: number
  spoilt?: number[]
  missing?: number[]
}) {
  let asked = 0
  const file = {
    lastSeq: last,
    between: (from: number, to: number) => {
      asked += 1
      if (spoilt.some((seq) => seq >= from && seq <= to))
        throw new StoreError('damaged', said('row-unreadable', { what: 'A reading' }))
      return Array.from({ length: to - from + 1 }, (_, i) => reading(from + i, 'a', 0, '1')).filter(
        ({ seq }) => !missing.includes(seq),
      )
    },
  } as unknown as SessionFile
  const pages = (options?: Parameters<typeof readingPages>[1]) =>
    [...readingPages(file, options)].map(({ readings, lost }) => ({
      seqs: readings.map(({ seq }) => seq),
      lost: lost.map(({ fromSeq, toSeq }) => [fromSeq, toSeq]),
    }))
  return { pages, asked: () => asked }
}

it('goes through a session page by page, both ends of a stretch with it', () => {
  const { pages, asked } = fileWith({ last: 7 })
  expect(pages({ pageSize: 3 }).map(({ seqs }) => seqs)).toEqual([[1, 2, 3], [4, 5, 6], [7]])
  expect(asked()).toBe(3)
  expect(pages({ fromSeq: 3, toSeq: 6, pageSize: 4 }).map(({ seqs }) => seqs)).toEqual([[3, 4, 5, 6]])
  expect(pages({ fromSeq: 8 })).toEqual([])
  expect(pages().map(({ lost }) => lost)).toEqual([[]])
})

it('says which readings are lost, those side by side as one stretch, and gives all others', () => {
  const { pages } = fileWith({ last: 16, spoilt: [4, 5, 9], missing: [6, 12, 16] })
  expect(pages()).toEqual([
    {
      seqs: [1, 2, 3, 7, 8, 10, 11, 13, 14, 15],
      lost: [
        [4, 6],
        [9, 9],
        [12, 12],
        [16, 16],
      ],
    },
  ])
})

it('passes on what is no damage of the file', () => {
  const file = {
    lastSeq: 3,
    between: () => {
      throw new Error('the disk was taken out')
    },
  } as unknown as SessionFile
  expect(() => [...readingPages(file)]).toThrow('the disk was taken out')
})
