import { expect, it } from 'vitest'
import { pageOf, pagesOf, RECORD } from '../../../renderer/points/report-pages.model.ts'

const papers = [
  { thermometer: 't-1', name: 'PRT 1', serial: '1001' },
  { thermometer: 't-2', name: 'PRT 2', serial: '' },
]

it('offers the record and the certificate of each item, by what stands on the item', () => {
  expect(pagesOf(papers).map(({ name }) => name)).toEqual([
    'Record of the laboratory',
    'Certificate of PRT 1, 1001',
    'Certificate of PRT 2',
  ])
})

it('shows the record where a certificate is no more', () => {
  expect(pageOf(papers, 't-2')).toBe('t-2')
  expect(pageOf(papers.slice(0, 1), 't-2')).toBe(RECORD)
  expect(pageOf([], RECORD)).toBe(RECORD)
})
