import { type SessionChecks, sessionChecks } from '../../app/checks/check-history.ts'
import type { CellSaid, PlateauView } from '../../app/contract/checks.ts'
import type { Comparison, FitView, Thread } from '../../app/contract/studies.ts'
import type { Register } from '../../app/records/register.ts'
import { buildReport, type ReportContent, reportJson } from '../../app/report/content.ts'
import { reportDcc } from '../../app/report/dcc.ts'
import { reportHtml } from '../../app/report/html.ts'
import { type SignedNumbers, signedNumbers } from '../../app/report/proof.ts'
import { threadOf } from '../../app/report/provenance.ts'
import type { Analysis, AnalysisOptions } from '../../app/results/analysis.ts'
import { fitViews } from '../../app/results/analysis-view.ts'
import {
  type CalibrationOfFit,
  calibrationOfFit,
  type SessionEntries,
  sessionEntries,
} from '../../app/results/session-entries.ts'
import type { BudgetTemplate } from '../../app/results/uncertainty-template.ts'
import type { Runner } from '../store/serve-thread.ts'
import { openSessionFile, type SessionFile } from '../store/session-file.ts'
import { plateauView } from '../study/checks-plateau.ts'
import { compareSessions, compareWithNow } from '../study/compare-results.ts'
import { embeddedFonts } from '../study/report/fonts.ts'
import { type Paper, reportPdf } from '../study/report/pdf.ts'
import { analyseSession } from '../study/report/session-content.ts'
import { settlingTraces } from '../study/report/settling-traces.ts'
import type { PracticeKind, PracticeSessions } from './practice.ts'

/** A session and the laboratory's choices about its report. */
export interface ReportOf {
  path: string
  /** Changes whenever the session's points or decisions do. */
  version: string
  options: Partial<AnalysisOptions>
  decimalSign: '.' | ','
}

/** What comes out of a session, worked out away from the loop that measures. */
export interface ReportTasks {
  fits(of: ReportOf): FitView[]
  json(of: ReportOf): string
  html(of: ReportOf, withFonts: boolean): string
  pdf(of: ReportOf, paper: Paper): Promise<Uint8Array<ArrayBuffer>>
  dcc(of: ReportOf): string
  signed(of: ReportOf): SignedNumbers
  /** What the register may take of a session, and which certificate it stands on. */
  entries(of: ReportOf): SessionEntries
  calibration(of: ReportOf, channel: string, certificate: string): CalibrationOfFit
  /** Check thermometers against the reference. */
  checks(path: string, templates: readonly BudgetTemplate[]): SessionChecks
  /** The record of a channel in a fixed-point cell, and its plateau. */
  plateau(path: string, channel: string, said: CellSaid, rWtp: number | undefined): PlateauView
  /** Sessions to practise on, recorded by the lab in a box into a data folder. */
  practise(what: PracticeKind, seed: number, folder: string, nowUtcUs: number): Promise<PracticeSessions>
  /** null where the report has no number under that key. */
  thread(of: ReportOf, key: string): Thread | null
  compareWithNow(path: string, now: Register): Comparison
  compareSessions(a: string, b: string): Comparison
}

/** Analyses kept, so that a page, its PDF and its threads are worked out once. */
const MOST_KEPT = 4

interface Kept {
  analysis: Analysis
  report: ReportContent
}

export class ReportRunner implements Runner {
  readonly #kept = new Map<string, Kept>()

  async run(name: string, args: unknown[]): Promise<unknown> {
    switch (name as keyof ReportTasks) {
      case 'compareWithNow':
        return reading(args[0] as string, (file) => compareWithNow(file, args[1] as Register))
      case 'compareSessions':
        return reading(args[0] as string, (a) => reading(args[1] as string, (b) => compareSessions(a, b)))
      case 'plateau': {
        const [path, channel, said, rWtp] = args as Parameters<ReportTasks['plateau']>
        return plateauView(path, { channel }, said, rWtp)
      }
      case 'practise': {
        const [what, seed, folder, nowUtcUs] = args as Parameters<ReportTasks['practise']>
        // A whole station with its instruments: fetched by those who practise, not with every report.
        const { recordPractice } = await import('./practice.ts')
        return recordPractice(what, { seed, folder, nowUtcUs })
      }
      case 'checks':
        return reading(args[0] as string, (file) => {
          const { info, setup } = file
          const options = { templates: args[1] as readonly BudgetTemplate[] }
          return sessionChecks({ info, setup, points: file.points(), events: file.events(), options })
        })
      default: {
        const { analysis, report } = this.#work(args[0] as ReportOf)
        return this.#print(name as keyof ReportTasks, analysis, report, args[1], args[2])
      }
    }
  }

  async #print(
    name: keyof ReportTasks,
    analysis: Analysis,
    report: ReportContent,
    more: unknown,
    last: unknown,
  ): Promise<unknown> {
    switch (name) {
      case 'fits':
        return fitViews(analysis)
      case 'json':
        return reportJson(report)
      case 'html':
        return reportHtml(report, more === true ? { fontCss: embeddedFonts() } : {})
      case 'pdf':
        return new Uint8Array(await reportPdf(report, more as Paper))
      case 'dcc':
        return reportDcc(analysis, report)
      case 'signed':
        return signedNumbers(report)
      case 'entries':
        return sessionEntries(analysis)
      case 'calibration':
        return calibrationOfFit(analysis, more as string, last as string)
      case 'thread':
        return (more as string) in report.numbers ? threadOf(analysis, report, more as string) : null
      default:
        throw new RangeError(`no such task: ${name}`)
    }
  }

  #work({ path, version, options, decimalSign }: ReportOf): Kept {
    const key = JSON.stringify([path, version, options, decimalSign])
    const known = this.#kept.get(key)
    if (known) return known
    const kept = reading(path, (file) => {
      const analysis = analyseSession(file, options)
      return {
        analysis,
        report: buildReport(analysis, { decimalSign, settling: settlingTraces(file, analysis) }),
      }
    })
    this.#kept.set(key, kept)
    if (this.#kept.size > MOST_KEPT) this.#kept.delete(this.#kept.keys().next().value!)
    return kept
  }

  close(): void {
    this.#kept.clear()
  }
}

function reading<T>(path: string, act: (file: SessionFile) => T): T {
  const file = openSessionFile(path, { mode: 'read' })
  try {
    return act(file)
  } finally {
    file.close()
  }
}
