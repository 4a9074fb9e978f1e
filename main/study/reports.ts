import type { Register } from '../../app/records/register.ts'
import { type Asked, WorkerPool, workerScript } from '../store/worker-pool.ts'
import { readBudgetTemplates } from './report/budget-folder.ts'
import type { ReportOf, ReportTasks } from './report-tasks.ts'

/** What a report needs to know of the station it is made on. */
export interface ReportGround {
  readonly folder: string
  readonly path: (session: string) => string
  /** The records of now of what a session measured. */
  readonly register: (session: string) => Register
  /** A session, and the laboratory's choices about its report. */
  readonly of: (session: string) => Omit<ReportOf, 'path'>
}

type Of<T> = T extends (of: ReportOf, ...more: infer M) => infer R
  ? (session: string, ...more: M) => R
  : never
type ByReport =
  | 'fits'
  | 'json'
  | 'resultsJson'
  | 'html'
  | 'pdf'
  | 'certificates'
  | 'certificateHtml'
  | 'certificatePdf'
  | 'certificateXml'
  | 'certificateCsv'
  | 'parcels'
  | 'signOffHolds'
  | 'signed'
  | 'entries'
  | 'calibration'
  | 'thread'

/** Every task of the thread, with a session's id where the thread takes its file and choices. */
export type ReportsOf = { readonly [N in ByReport]: Of<Asked<ReportTasks>[N]> } & {
  checks(session: string): ReturnType<Asked<ReportTasks>['checks']>
  plateau(
    session: string,
    ...more: Tail<Parameters<Asked<ReportTasks>['plateau']>>
  ): ReturnType<Asked<ReportTasks>['plateau']>
  compareWithNow(session: string): ReturnType<Asked<ReportTasks>['compareWithNow']>
  compareSessions(a: string, b: string): ReturnType<Asked<ReportTasks>['compareSessions']>
  pointsOfNow(session: string): ReturnType<Asked<ReportTasks>['pointsOfNow']>
  registerPage: Asked<ReportTasks>['registerPage']
  lookAtCertificate(bytes: Uint8Array, nowUtcUs: number): ReturnType<Asked<ReportTasks>['lookAtCertificate']>
  registerPdf: Asked<ReportTasks>['registerPdf']
  registerXml: Asked<ReportTasks>['registerXml']
  registerFacts: Asked<ReportTasks>['registerFacts']
  bathNights: Asked<ReportTasks>['bathNights']
}
type Tail<T extends unknown[]> = T extends [unknown, ...infer M] ? M : never

/** Fits, reports and comparisons of sessions, worked out in a thread: a report must never hold up a measurement. */
export class Reports {
  readonly #ground: ReportGround
  readonly #pool = new WorkerPool<ReportTasks>({
    script: workerScript('report-worker', import.meta.url),
    // A fit is looked at while the report of another session takes its minutes.
    most: 2,
    priorities: {
      json: 'long',
      resultsJson: 'long',
      html: 'long',
      pdf: 'long',
      certificates: 'long',
      certificateHtml: 'long',
      certificatePdf: 'long',
      certificateXml: 'long',
      parcels: 'long',
      compareWithNow: 'long',
      compareSessions: 'long',
      checks: 'idle',
    },
  })

  constructor(ground: ReportGround) {
    this.#ground = ground
  }

  /** The thread's tasks for sessions by their ids; what is asked is given up when the signal says so. */
  ask(signal?: AbortSignal): ReportsOf {
    const { folder, path, register, of: choices } = this.#ground
    const thread = this.#pool.ask(signal)
    const of = (session: string): ReportOf => ({ path: path(session), ...choices(session) })
    return {
      // Fits are shown without drawn distributions, which only the report states.
      fits: (session) => {
        const { options, ...rest } = of(session)
        return thread.fits({ ...rest, options: { ...options, monteCarloTrials: 0 } })
      },
      json: (session) => thread.json(of(session)),
      resultsJson: (session) => thread.resultsJson(of(session)),
      html: (session, withFonts) => thread.html(of(session), withFonts),
      pdf: (session, paper) => thread.pdf(of(session), paper),
      certificates: (session) => thread.certificates(of(session)),
      certificateHtml: (session, thermometer) => thread.certificateHtml(of(session), thermometer),
      certificatePdf: (session, thermometer, paper) => thread.certificatePdf(of(session), thermometer, paper),
      certificateXml: (session, thermometer, pdf) => thread.certificateXml(of(session), thermometer, pdf),
      certificateCsv: (session, thermometer) => thread.certificateCsv(of(session), thermometer),
      parcels: (session) => thread.parcels(of(session)),
      signOffHolds: (session) => thread.signOffHolds(of(session)),
      signed: (session) => thread.signed(of(session)),
      entries: (session) => thread.entries(of(session)),
      calibration: (session, channel, certificate) => thread.calibration(of(session), channel, certificate),
      thread: (session, key) => thread.thread(of(session), key),
      checks: (session) => thread.checks(path(session), readBudgetTemplates(folder)),
      // Works on the readings alone: a session that still runs may be looked at too.
      plateau: (session, channel, said, rWtp) => thread.plateau(path(session), channel, said, rWtp),
      compareWithNow: (session) => thread.compareWithNow(path(session), register(session)),
      lookAtCertificate: (bytes, nowUtcUs) => thread.lookAtCertificate(folder, bytes, nowUtcUs),
      registerPage: (work, which) => thread.registerPage(work, which),
      registerPdf: (work, which, paper) => thread.registerPdf(work, which, paper),
      registerXml: (work, which, pdf) => thread.registerXml(work, which, pdf),
      registerFacts: (work, which) => thread.registerFacts(work, which),
      bathNights: (paths, bath) => thread.bathNights(paths, bath),
      pointsOfNow: (session) => thread.pointsOfNow(path(session), register(session)),
      compareSessions: (a, b) => thread.compareSessions(path(a), path(b)),
    }
  }

  close(): Promise<void> {
    return this.#pool.close()
  }
}
