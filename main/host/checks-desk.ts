import type { Disposable } from '../../app/base/clock.ts'
import type { SessionChecks } from '../../app/checks/check-history.ts'
import type { StationLog } from '../station/log.ts'
import type { Station } from '../station/station.ts'
import { StoreError } from '../store/errors.ts'
import type { StationStore } from '../store/station-store.ts'
import type { Reports } from '../study/reports.ts'

export interface ChecksDeskParts {
  readonly station: Station
  readonly store: StationStore
  readonly reports: Reports
  readonly log: StationLog
}

/**
 * Looks through every ended session once for what its check thermometers deviated by, the newest first and one at a time,
 * and keeps that as rows: a chart over ten years is then one question. A session that was added to is looked at again.
 */
export class ChecksDesk {
  readonly #p: ChecksDeskParts
  readonly #listening: Disposable
  readonly #ended = new AbortController()
  #seen = ''
  #turn: Promise<void> = Promise.resolve()
  /** Thermometers whose charts somebody waits for: their sessions come first. */
  readonly #wanted: string[] = []

  constructor(parts: ChecksDeskParts) {
    this.#p = parts
    this.#listening = parts.station.onDidChange.on(() => this.#look())
    this.#look()
  }

  /**
   * What sessions found of a thermometer, and how many of its sessions are still to be looked at. Waits a while for
   * those, so that few are all there.
   */
  async of(
    thermometer: string,
    waitMs: number,
    signal?: AbortSignal,
  ): Promise<{ checks: SessionChecks[]; pending: number }> {
    const { checkPoints } = this.#p.store
    if (checkPoints.waiting(thermometer).total > 0) {
      this.#wanted.push(thermometer)
      this.#go()
      const until = performance.now() + waitMs
      while (checkPoints.waiting(thermometer).total > 0 && performance.now() < until && !signal?.aborted)
        await Promise.race([this.#turn, new Promise((resolve) => setTimeout(resolve, 50))])
    }
    return { checks: checkPoints.of(thermometer), pending: checkPoints.waiting(thermometer).total }
  }

  /** Resolves when nothing is left to look at. */
  async caughtUp(): Promise<void> {
    this.#go()
    await this.#turn
  }

  async close(): Promise<void> {
    this.#listening.dispose()
    this.#ended.abort(new Error('the station is closing'))
    await this.#turn
  }

  #look(): void {
    const { sessions, points } = this.#p.station.versions
    const seen = `${sessions} ${points}`
    if (seen === this.#seen) return
    this.#seen = seen
    this.#go()
  }

  #go(): void {
    this.#turn = this.#turn.then(() => this.#lookAtAll())
  }

  async #lookAtAll(): Promise<void> {
    for (let next = this.#next(); next && !this.#ended.signal.aborted; next = this.#next()) {
      const checks = await this.#checksOf(next.id)
      if (checks === 'later') return
      this.#p.store.checkPoints.keep(next.id, next.form, checks)
    }
  }

  #next(): { id: string; form: string } | undefined {
    const { checkPoints } = this.#p.store
    while (this.#wanted.length > 0) {
      const { next } = checkPoints.waiting(this.#wanted[0])
      if (next) return next
      this.#wanted.shift()
    }
    return checkPoints.waiting().next
  }

  async #checksOf(session: string): Promise<SessionChecks | undefined | 'later'> {
    try {
      return await this.#p.reports.ask(this.#ended.signal).checks(session)
    } catch (fault) {
      if (this.#ended.signal.aborted) return 'later'
      // A thread that ended, a disk that was away: tried again at the next change.
      if (fault instanceof StoreError && fault.code === 'input-output') return 'later'
      // A session that cannot be judged is no entry of the chart; its own place says what is wrong with it.
      this.#p.log.warn({ fault, session }, 'a session could not be looked at for its check thermometers')
      return undefined
    }
  }
}
