import type { CertificateRow } from '../../app/contract/studies.ts'
import type { Option } from '../parts/Choice.tsx'

/** The laboratory's own record among the pages of a session; the others are called by their thermometer, whose id has no such sign. */
export const RECORD = '*'

type Paper = Pick<CertificateRow, 'thermometer' | 'name' | 'serial'>

/** What can be looked at as a page: the record, and the certificate of each item. */
export const pagesOf = (papers: readonly Paper[]): Option<string>[] => [
  { id: RECORD, name: 'Record of the laboratory' },
  ...papers.map(({ thermometer, name, serial }) => ({
    id: thermometer,
    name: `Certificate of ${serial === '' ? name : `${name}, ${serial}`}`,
  })),
]

/** The page wanted, or the record where that certificate is no more: its item was taken out of the session. */
export const pageOf = (papers: readonly Paper[], wanted: string): string =>
  papers.some(({ thermometer }) => thermometer === wanted) ? wanted : RECORD
