import type { Block } from './blocks.ts'
import type { ReportContent } from './content-types.ts'

/** What paper and page print, whichever content it comes from. */
export interface Printable extends Pick<ReportContent, 'numbers' | 'decimalSign'> {
  readonly blocks: readonly Block[]
  /** What stands on every page. */
  readonly running: string
  /** Language of the text, ISO 639-1; the leading one where there are two. */
  readonly language: string
  readonly status: 'draft' | 'signed'
  readonly logo: string | null
  readonly author: string
  readonly subject: string
  readonly creator: string
  /** Day of issue, or of the last reading for a draft: never the minute of printing. */
  readonly date: string
  readonly draftWord: string
  readonly footer: string
  pageWords(page: number, pages: number): string
}

/** Name of the report on every printed page. */
const runningTitle = (report: ReportContent): string =>
  `${report.laboratory.name} · ${report.title} ${report.number}, version ${report.version}`

/** The calibration record of a session as paper and page print it. */
export const printableReport = (report: ReportContent): Printable => ({
  numbers: report.numbers,
  decimalSign: report.decimalSign,
  blocks: report.blocks,
  running: runningTitle(report),
  language: 'en',
  status: report.status,
  logo: report.laboratory.logo,
  author: report.laboratory.name,
  subject: report.session,
  creator: `${report.program.name} ${report.program.version}`,
  date: report.dates.issued ?? report.dates.to,
  draftWord: 'Draft',
  footer: report.status === 'draft' ? 'Draft, not authorised' : `Authorised by ${report.authorisedBy ?? ''}`,
  pageWords: (page, pages) => `Page ${page} of ${pages}`,
})
