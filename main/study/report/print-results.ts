import { isoUtc } from '../../../app/base/clock.ts'
import type { ReportContent } from '../../../app/report/content.ts'
import { reportJson } from '../../../app/report/content.ts'
import { csvLine } from '../../../app/report/csv.ts'
import { reportHtml } from '../../../app/report/html.ts'
import { pointsCsv } from '../../../app/report/points-csv.ts'
import { threadsOf } from '../../../app/report/provenance.ts'
import type { Analysis } from '../../../app/results/analysis.ts'
import type { SessionFile } from '../../store/session-file.ts'
import { embeddedFonts } from './fonts.ts'
import { type Paper, reportPdf } from './pdf.ts'

/** Every file of the results folder, by what it is. */
export const RESULT_FILES = {
  session: 'session.stillpoint',
  readings: 'readings.csv',
  points: 'points.csv',
  json: 'results.json',
  html: 'report.html',
  pdf: 'report.pdf',
} as const
export type ResultName = keyof typeof RESULT_FILES

const PAGE = 5_000
const READINGS_HEAD = ['seq', 'channel', 'utc', 'elapsed_s', 'raw', 'value', 'unit', 'current_mA', 'marks']

/** readings.csv in pieces: every reading as it was sent, in the order it was stored. */
export function* readingsCsv(session: SessionFile): Generator<string> {
  yield csvLine(READINGS_HEAD)
  let seq = 0
  for (;;) {
    const readings = session.since(seq, PAGE)
    const last = readings.at(-1)
    if (!last) return
    seq = last.seq
    yield readings
      .map((r) =>
        csvLine([
          r.seq,
          r.channel,
          isoUtc(r.utcUs),
          (r.monoUs / 1e6).toFixed(6),
          r.raw,
          r.value,
          r.unit,
          r.currentMa,
          r.marks.join(' '),
        ]),
      )
      .join('')
  }
}

/** What is printed of a report: the same session and the same choices give the same bytes. */
export interface Printed {
  readonly points: string
  readonly json: string
  readonly html: string
  readonly pdf: Uint8Array
}

export async function printResults(
  analysis: Analysis,
  report: ReportContent,
  paper: Paper = 'A4',
): Promise<Printed> {
  const pdf = await reportPdf(report, paper)
  return {
    points: pointsCsv(analysis),
    json: reportJson(report, threadsOf(analysis, report)),
    html: reportHtml(report, { fontCss: embeddedFonts() }),
    pdf,
  }
}
