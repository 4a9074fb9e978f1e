import { type SessionChecks, sessionChecks } from '../../app/checks/check-history.ts'
import type { CellSaid, PlateauView } from '../../app/contract/checks.ts'
import type { BathNight } from '../../app/contract/life.ts'
import type { CertificateRow, Comparison, FitView, Parcel, Thread } from '../../app/contract/studies.ts'
import { said } from '../../app/messages/said.ts'
import type { Point } from '../../app/records/point.ts'
import type { Register } from '../../app/records/register.ts'
import { itemCsv } from '../../app/report/certificate/item-csv.ts'
import type { RegisterWork } from '../../app/report/certificate/register-certificate.ts'
import { buildReport, type ReportContent, reportJson } from '../../app/report/content.ts'
import { reportHtml } from '../../app/report/html.ts'
import { type SignedNumbers, signedNumbers } from '../../app/report/proof.ts'
import { threadOf, threadsOf } from '../../app/report/provenance.ts'
import { type SignOffHolds, signOffHolds } from '../../app/report/sign-off.ts'
import type { Analysis, AnalysisOptions } from '../../app/results/analysis.ts'
import { fitViews } from '../../app/results/analysis-view.ts'
import {
  type CalibrationOfFit,
  calibrationOfFit,
  type SessionEntries,
  sessionEntries,
} from '../../app/results/session-entries.ts'
import { ComparisonError } from '../../app/results/uncertainty-error.ts'
import type { BudgetTemplate } from '../../app/results/uncertainty-template.ts'
import { openSessionFile, type SessionFile } from '../store/session-file.ts'
import type { Cancel } from '../store/thread-talk.ts'
import { type BathOf, bathNights } from './bath-nights.ts'
import { plateauView } from './checks-plateau.ts'
import { compareSessions, compareWithNow, pointsOfNow } from './compare-results.ts'
import { type LookedAt, lookAtCertificate } from './look-at-certificate.ts'
import { registerFacts, registerPage, registerPdf, registerXml } from './register-work.ts'
import {
  certificateHtml,
  certificatePdf,
  certificatesOf,
  certificateXml,
  type ItemCertificate,
} from './report/certificates.ts'
import { embeddedFonts } from './report/fonts.ts'
import { parcelsOf } from './report/parcels.ts'
import { type Paper, reportPdf } from './report/pdf.ts'
import { analyseSession } from './report/session-content.ts'
import { settlingTraces } from './report/settling-traces.ts'
import type { WorkOf } from './work-of.ts'

/** A session and the laboratory's choices about its report. */
export interface ReportOf {
  path: string
  /** Changes whenever the session's points or decisions do. */
  version: string
  options: Partial<AnalysisOptions>
  decimalSign: '.' | ','
}

/** Analyses kept, so that a page, its PDF and its threads are worked out once. */
const MOST_KEPT = 4

interface Kept {
  analysis: Analysis
  report: ReportContent
}

const kept = new Map<string, Kept>()

/** What comes out of a session, worked out away from the loop that measures. */
export const reportTasks = {
  fits: (_: Cancel, of: ReportOf): FitView[] => fitViews(work(of).analysis),
  json: (_: Cancel, of: ReportOf): string => reportJson(work(of).report),
  /** results.json as it is written: with the thread of every number. */
  resultsJson: (_: Cancel, of: ReportOf): string => {
    const { analysis, report } = work(of)
    return reportJson(report, threadsOf(analysis, report))
  },
  html: (_: Cancel, of: ReportOf, withFonts: boolean): string =>
    reportHtml(work(of).report, withFonts ? { fontCss: embeddedFonts() } : {}),
  pdf: async (_: Cancel, of: ReportOf, paper: Paper): Promise<Uint8Array<ArrayBuffer>> =>
    new Uint8Array(await reportPdf(work(of).report, paper)),
  /** The certificate of each item, as a list. */
  certificates: (_: Cancel, of: ReportOf): CertificateRow[] =>
    certificatesOf(work(of).analysis).map(({ certificate: { matter, languages }, result, file }) => ({
      thermometer: matter.item.id,
      name: matter.item.name,
      serial: matter.item.serial,
      number: matter.issue.number,
      version: matter.issue.version,
      signed: matter.issue.signedOff !== null,
      languages: [...languages],
      digital: result.fit !== null,
      file,
    })),
  certificateHtml: (_: Cancel, of: ReportOf, thermometer: string): string =>
    certificateHtml(itemOf(of, thermometer)),
  certificatePdf: async (
    _: Cancel,
    of: ReportOf,
    thermometer: string,
    paper: Paper,
  ): Promise<Uint8Array<ArrayBuffer>> => new Uint8Array(await certificatePdf(itemOf(of, thermometer), paper)),
  /** null where the item has no result; `pdf` is put into it for people to read. */
  certificateXml: (_: Cancel, of: ReportOf, thermometer: string, pdf: Uint8Array): string | null =>
    certificateXml(itemOf(of, thermometer), work(of).analysis, pdf),
  /** The points of a certificate as a table for a spreadsheet. */
  certificateCsv: (_: Cancel, of: ReportOf, thermometer: string): string => {
    const { certificate, result } = itemOf(of, thermometer)
    return itemCsv(certificate, result)
  },
  /** What each customer gets. */
  parcels: (_: Cancel, of: ReportOf): Parcel[] => parcelsOf(work(of).analysis),
  /** The certificate of work that stands in the register: fixed points, or a resistor's comparison. */
  registerPage: (_: Cancel, work: RegisterWork, of: WorkOf): string => registerPage(work, of),
  registerPdf: async (
    _: Cancel,
    work: RegisterWork,
    of: WorkOf,
    paper: Paper,
  ): Promise<Uint8Array<ArrayBuffer>> => new Uint8Array(await registerPdf(work, of, paper)),
  registerXml: (_: Cancel, work: RegisterWork, of: WorkOf, pdf: Uint8Array | null): string =>
    registerXml(work, of, pdf),
  registerFacts: (_: Cancel, work: RegisterWork, of: WorkOf): { file: string; gaps: string[] } =>
    registerFacts(work, of),
  /** What stands against a sign-off. */
  signOffHolds: (_: Cancel, of: ReportOf): SignOffHolds => signOffHolds(work(of).analysis),
  signed: (_: Cancel, of: ReportOf): SignedNumbers => signedNumbers(work(of).report),
  /** What the register may take of a session, and which certificate it stands on. */
  entries: (_: Cancel, of: ReportOf): SessionEntries => sessionEntries(work(of).analysis),
  calibration: (_: Cancel, of: ReportOf, channel: string, certificate: string): CalibrationOfFit =>
    calibrationOfFit(work(of).analysis, channel, certificate),
  /** null where the report has no number under that key. */
  thread: (_: Cancel, of: ReportOf, key: string): Thread | null => {
    const { analysis, report } = work(of)
    return key in report.numbers ? threadOf(analysis, report, key) : null
  },
  /** The sessions of a bath, of those at these paths. */
  bathNights: (cancel: Cancel, paths: readonly string[], bath: BathOf): BathNight[] =>
    bathNights(paths, bath, () => cancel.throwIfAborted()),
  /** What a digital certificate from outside says: text of strangers is read away from the loop that measures. */
  lookAtCertificate: (_: Cancel, folder: string, bytes: Uint8Array, nowUtcUs: number): Promise<LookedAt> =>
    lookAtCertificate(folder, bytes, nowUtcUs),
  /** Check thermometers against the reference. */
  checks: (_: Cancel, path: string, templates: readonly BudgetTemplate[]): SessionChecks =>
    reading(path, (file) => {
      const { info, setup } = file
      return sessionChecks({
        info,
        setup,
        points: file.points(),
        events: file.events(),
        options: { templates },
      })
    }),
  /** The record of a channel in a fixed-point cell, and its plateau. */
  plateau: (
    _: Cancel,
    path: string,
    channel: string,
    said: CellSaid,
    rWtp: number | undefined,
  ): PlateauView => plateauView(path, { channel }, said, rWtp),
  compareWithNow: (_: Cancel, path: string, now: Register): Comparison =>
    reading(path, (file) => compareWithNow(file, now)),
  /** The points of a session through the records of now. */
  pointsOfNow: (_: Cancel, path: string, now: Register): Point[] =>
    reading(path, (file) => pointsOfNow(file, now)),
  compareSessions: (_: Cancel, a: string, b: string): Comparison =>
    reading(a, (first) => reading(b, (second) => compareSessions(first, second))),
}

export type ReportTasks = typeof reportTasks

/** Lets go of the analyses kept. */
export const forgetReports = (): void => kept.clear()

function itemOf(of: ReportOf, thermometer: string): ItemCertificate {
  const found = certificatesOf(work(of).analysis).find(
    ({ certificate }) => certificate.matter.item.id === thermometer,
  )
  if (!found) {
    throw new ComparisonError('unknown-key', said('thermometer-not-under-test', { thermometer }), {
      thermometer,
    })
  }
  return found
}

function work({ path, version, options, decimalSign }: ReportOf): Kept {
  const key = JSON.stringify([path, version, options, decimalSign])
  const known = kept.get(key)
  if (known) return known
  const made = reading(path, (file) => {
    const analysis = analyseSession(file, options)
    return {
      analysis,
      report: buildReport(analysis, { decimalSign, settling: settlingTraces(file, analysis) }),
    }
  })
  kept.set(key, made)
  if (kept.size > MOST_KEPT) kept.delete(kept.keys().next().value!)
  return made
}

function reading<T>(path: string, act: (file: SessionFile) => T): T {
  const file = openSessionFile(path, { mode: 'read' })
  try {
    return act(file)
  } finally {
    file.close()
  }
}
