import type { SessionChecks } from '../../app/checks/check-history.ts'
import type { CellSaid, PlateauView } from '../../app/contract/checks.ts'
import type { Comparison, FitView, Thread } from '../../app/contract/studies.ts'
import type { SignedNumbers } from '../../app/report/proof.ts'
import type { CalibrationOfFit, SessionEntries } from '../../app/results/session-entries.ts'
import { WorkerThread, workerScript } from '../store/worker-thread.ts'
import { readBudgetTemplates } from '../study/report/budget-folder.ts'
import type { Paper } from '../study/report/pdf.ts'
import type { HostedStation } from './open-station.ts'
import type { PracticeKind, PracticeSessions } from './practice.ts'
import type { ReportOf, ReportTasks } from './report-tasks.ts'
import type { SessionDesk } from './session-desk.ts'

/** Fits, reports and comparisons of sessions, worked out in a thread: a report must never hold up a measurement. */
export class Reports {
  readonly #hosted: HostedStation
  readonly #sessions: SessionDesk
  readonly #thread = new WorkerThread<ReportTasks>(workerScript('report-worker', import.meta.url))

  constructor(hosted: HostedStation, sessions: SessionDesk) {
    this.#hosted = hosted
    this.#sessions = sessions
  }

  fits(session: string, signal?: AbortSignal): Promise<FitView[]> {
    const of = this.#of(session)
    // Fits are shown without drawn distributions, which only the report states.
    return this.#thread.ask('fits', [{ ...of, options: { ...of.options, monteCarloTrials: 0 } }], signal)
  }

  json(session: string, signal?: AbortSignal): Promise<string> {
    return this.#thread.ask('json', [this.#of(session)], signal)
  }

  html(session: string, withFonts: boolean, signal?: AbortSignal): Promise<string> {
    return this.#thread.ask('html', [this.#of(session), withFonts], signal)
  }

  pdf(session: string, paper: Paper, signal?: AbortSignal): Promise<Uint8Array<ArrayBuffer>> {
    return this.#thread.ask('pdf', [this.#of(session), paper], signal)
  }

  dcc(session: string, signal?: AbortSignal): Promise<string> {
    return this.#thread.ask('dcc', [this.#of(session)], signal)
  }

  /** The numbers that a signature holds for. */
  signed(session: string): Promise<SignedNumbers> {
    return this.#thread.ask('signed', [this.#of(session)])
  }

  entries(session: string): Promise<SessionEntries> {
    return this.#thread.ask('entries', [this.#of(session)])
  }

  calibration(session: string, channel: string, certificate: string): Promise<CalibrationOfFit> {
    return this.#thread.ask('calibration', [this.#of(session), channel, certificate])
  }

  /** Check thermometers of one session against its reference. */
  checks(session: string, signal?: AbortSignal): Promise<SessionChecks> {
    const { store, folder } = this.#hosted
    return this.#thread.ask('checks', [store.sessionPath(session), readBudgetTemplates(folder)], signal)
  }

  /** In a thread of its own: reports must not wait for it. */
  async practise(what: PracticeKind, seed: number, nowUtcUs: number): Promise<PracticeSessions> {
    const thread = new WorkerThread<ReportTasks>(workerScript('report-worker', import.meta.url))
    try {
      return await thread.ask('practise', [what, seed, this.#hosted.folder, nowUtcUs])
    } finally {
      await thread.close()
    }
  }

  /** Works on the readings alone: a session that still runs may be looked at too. */
  plateau(
    session: string,
    channel: string,
    said: CellSaid,
    rWtp: number | undefined,
    signal?: AbortSignal,
  ): Promise<PlateauView> {
    const path = this.#hosted.store.sessionPath(session)
    return this.#thread.ask('plateau', [path, channel, said, rWtp], signal)
  }

  thread(session: string, key: string): Promise<Thread | null> {
    return this.#thread.ask('thread', [this.#of(session), key])
  }

  compareWithNow(session: string, signal?: AbortSignal): Promise<Comparison> {
    const { store } = this.#hosted
    return this.#thread.ask('compareWithNow', [store.sessionPath(session), store.register()], signal)
  }

  compareSessions(a: string, b: string, signal?: AbortSignal): Promise<Comparison> {
    const { store } = this.#hosted
    return this.#thread.ask('compareSessions', [store.sessionPath(a), store.sessionPath(b)], signal)
  }

  close(): Promise<void> {
    return this.#thread.close()
  }

  #of(session: string): ReportOf {
    const { store, station, folder } = this.#hosted
    const file = this.#sessions.read(session)
    const settings = store.settings()
    // While a session measures its fits are shown without drawn distributions: they are asked for at every point.
    const running = station.session?.info.id === session
    return {
      path: store.sessionPath(session),
      version: `${file.points().length} ${file.events().at(-1)?.n ?? 0}`,
      options: {
        templates: readBudgetTemplates(folder),
        ...(running && { monteCarloTrials: 0 }),
        ...(settings && {
          coverageProbability: settings.coverageProbability,
          interpolationStepK: settings.interpolationStepK,
        }),
      },
      decimalSign: settings?.decimalSign ?? '.',
    }
  }
}
