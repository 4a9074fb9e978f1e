import { z } from 'zod'
import { saidBy } from '../../app/base/coded-error.ts'
import { utcDay } from '../../app/base/times.ts'
import { FASTEST_PACE } from '../../app/contract/views.ts'
import { VirtualClock } from './clocks/virtual.ts'
// Longer than most: it is the list of everything a window may ask of the station, each a few lines that pass it on.

import type { Clock, Disposable } from '../../app/base/clock.ts'
import { packColumns } from '../../app/contract/columns.ts'
import type { AlarmRules } from '../../app/contract/settings.ts'
import type { PlanPreview } from '../../app/contract/studies.ts'
import type { LinkView, StationState } from '../../app/contract/views.ts'
import type { AnyInstrument, Bath } from '../../app/instruments/faces.ts'
import { asTold, type Said, said, saidOf } from '../../app/messages/said.ts'
import { previewPlan } from '../../app/plan/preview.ts'
import type { PreviewSource } from '../../app/plan/preview-check.ts'
import type { Bench, BenchInstrument } from '../../app/records/bench.ts'
import { CellPlan } from '../../app/records/cell-plan.ts'
import { Plan } from '../../app/records/plan.ts'
import { RawUnit } from '../../app/records/reading.ts'
import type { SESSION_ENDINGS, SessionSetup } from '../../app/records/session.ts'
import { DiskReserve } from '../store/disk.ts'
import { StoreError } from '../store/errors.ts'
import type { StationStore } from '../store/station-store.ts'
import type { AlarmDesk } from './alarm-desk.ts'
import type { AlarmPost } from './alarm-post.ts'
import { goOnTryingSafe } from './bath-afterwards.ts'
import { bathLimits } from './bath-limits.ts'
import { BenchChoice } from './bench-choice.ts'
import { refuseCellPlan } from './cell-plan.ts'
import { depart } from './departure.ts'
import { DiskLook } from './disk-look.ts'
import { keepAwake } from './keep-awake.ts'
import { Links } from './links.ts'
import type { StationLog } from './log.ts'
import { type Pulse, PulseTaker } from './pulse.ts'
import { beginSession, type OpenedSession, openSessions, takeUpSession } from './session-folder.ts'
import { SessionRun } from './session-run.ts'
import { newSession, type SessionWanted } from './session-setup.ts'
import { Signal } from './signals.ts'
import { StationAlarms } from './station-alarms.ts'
import { StationError } from './station-error.ts'
import { type EndedSession, endedView, sessionState } from './station-state.ts'
import { unseenAlarms } from './unseen-alarms.ts'
import { startBeating } from './watchdog.ts'

/** How long a look waits for an instrument to answer, and how often it tries, ms. */
const LOOK_WAIT_MS = 15_000
const LOOK_AGAIN_MS = 250

export interface StationOptions {
  readonly folder: string
  readonly clock: Clock
  readonly clockKind?: StationState['clock']
  readonly store: StationStore
  /** Profile texts by id, kept with each session. */
  readonly profileTexts: () => Readonly<Record<string, string>>
  readonly openInstrument: (spec: BenchInstrument) => AnyInstrument
  readonly log: StationLog
  readonly program: string
  readonly programVersion: string
  /** Password of the mail server, where it asks for one; kept nowhere. */
  readonly smtpPassword?: string | undefined
  readonly webhookToken?: string | undefined
}

export interface StartOptions {
  /** A plan, or the id of one in the store. */
  readonly plan: Plan | string
  readonly operator: string
  readonly name?: string
  readonly note?: string
  readonly job?: SessionSetup['job']
  readonly items?: SessionSetup['items']
  /** Ids of warnings the person has read and takes on. */
  readonly accept?: readonly string[]
}

export interface Finished {
  readonly session: string
  readonly ending: (typeof SESSION_ENDINGS)[number]
  readonly reason: string
}

/**
 * The station core: one bench, its links, at most one open session with its plan. Everything a window may ask for goes
 * through here; nothing here knows a window.
 */
export class Station {
  readonly links: Links
  readonly alarms: AlarmDesk
  readonly post: AlarmPost
  readonly onDidChange = new Signal<void>()
  /** Records that are at work on another bench, by id, in words: whoever knows of other benches says so. */
  elsewhere: () => Readonly<Record<string, string>> = () => ({})
  readonly #o: StationOptions
  readonly #choice: BenchChoice
  readonly #disk: DiskLook
  readonly #reserve: DiskReserve
  readonly #alarms: StationAlarms
  readonly #pulse = new PulseTaker()
  readonly #beat = startBeating(() => this.pulse())
  #run: SessionRun | undefined
  /** Two that are asked for at once must not both begin while the links are being connected. */
  #starting = false
  #opened: OpenedSession | undefined
  #ended: EndedSession | undefined
  #finished: Promise<Finished> | undefined
  #stopRecording: ((reason?: string) => void) | undefined
  /** Keeps the computer from sleeping while a session runs. */
  #awake: Disposable | undefined
  #closing = false
  #told = false
  #versions = { points: 0, register: 0, orders: 0, plans: 0, sessions: 0, bench: 0, settings: 0, benches: 0 }

  constructor(options: StationOptions) {
    this.#o = options
    this.#choice = new BenchChoice(options.store)
    this.#disk = new DiskLook(options.folder, options.clock)
    this.#reserve = new DiskReserve(options.folder)
    this.#reserve.hold()
    this.links = new Links(
      (spec) => this.#limited(options.openInstrument(spec)),
      () => this.#changed(),
    )
    this.#alarms = new StationAlarms({
      ...options,
      session: () => this.#run,
      links: () => this.links.views(this.bench),
      freeBytes: () => this.#disk.state.freeBytes,
      benchName: () => this.bench?.name ?? 'Station',
    })
    this.alarms = this.#alarms.desk
    this.post = this.#alarms.post
    this.alarms.onDidChange.on(() => this.#changed())
  }

  /**
   * Takes up the session that was left open, where there is one. Resolves with its id. Older ones that were left open are
   * closed; one that cannot be opened is told of and left as it is.
   */
  async open(): Promise<string | undefined> {
    const [newest, ...older] = openSessions(this.#o.store)
    for (const id of older) this.#closeLeftOver(id)
    if (newest === undefined) return undefined
    const opened = this.#tryToOpen(newest)
    if (!opened) return undefined
    await this.#begin(opened)
    return newest
  }

  /**
   * Asked to end from outside (a signal, the system, the shell): what is open says so in its record, and the bath is left
   * or brought to safety as the settings say. `close` follows.
   */
  async depart(why: string): Promise<void> {
    const run = this.#run
    const phase = run?.runner?.state.phase
    // A plan that is being brought to an end is ended in order by `close`.
    if (!run || phase === 'stopping' || phase === 'finishing' || phase === 'ended') return
    await run.runner?.detach()
    await run.cells?.detach()
    await depart(run, why, this.#o.store.settings()?.bathWhenEnded ?? 'stay', this.#o.clock)
  }

  /** Lets go of everything; an open session stays open on disk, to be taken up by the next start. */
  async close(): Promise<void> {
    this.#closing = true
    this.#beat.dispose()
    this.#disk.dispose()
    await this.#run?.runner?.detach()
    await this.#run?.cells?.detach()
    this.#stopRecording?.()
    // A session that was just ending is ended in order first.
    await this.#finished?.catch(() => undefined)
    if (this.#run) {
      await this.#run.close()
      this.#run = undefined
      this.#opened?.file.close()
    }
    this.#awake?.dispose()
    this.#alarms.dispose()
    await this.links.closeAll()
  }

  get bench(): Bench | undefined {
    return this.#choice.bench
  }

  get alarmRules(): AlarmRules {
    return this.#alarms.rules
  }

  /** The open session. */
  get session(): SessionRun | undefined {
    return this.#run
  }

  /** Resolves when the session that is open (or was last) has ended; rejects where none was begun. */
  get finished(): Promise<Finished> {
    return this.#finished ?? Promise.reject(new StationError('no-session', said('no-session-started', {})))
  }

  chooseBench(id: string, who = 'station'): void {
    this.#refuseWhileRunning(said('bench-while-running', {}))
    this.#choice.choose(id, who)
    this.touched('bench')
  }

  async connect(): Promise<LinkView[]> {
    await this.links.connect(this.#choice.need())
    return this.links.views(this.bench)
  }

  /** Profiles were changed: instruments that are not in use by a session speak by the new ones. */
  async profilesChanged(ids: ReadonlySet<string>): Promise<void> {
    if (!this.#run && !this.#opened) await this.links.renew(ids)
    this.touched('bench')
  }

  async disconnect(): Promise<void> {
    await this.endLook('The links are closed.')
    this.#refuseWhileRunning(said('links-in-use', {}))
    await this.links.closeAll()
  }

  /** What a preview of a plan is worked out from, as things stand. */
  previewSource(plan: Plan): PreviewSource {
    const bench = this.#choice.need()
    const register = this.#o.store.registerOfBench(bench)
    const fluid = register.fluids.find((f) => f.id === bench.bath?.fluid)
    return {
      plan,
      bench,
      register,
      elsewhere: this.elsewhere(),
      units: unitsOf(bench, this.#o.profileTexts()),
      date: this.#today(),
      limits: bench.bath && bathLimits(bench.bath, fluid),
      fromC: this.#run?.keeper?.temperatureC ?? 23,
      freeBytes: this.#disk.state.freeBytes > 0 ? this.#disk.state.freeBytes : undefined,
    }
  }

  preview(plan: Plan): PlanPreview {
    return previewPlan(this.previewSource(plan))
  }

  /**
   * Opens the links and shows what the channels read, without a session of the laboratory's work: stored like any
   * other, so that what is shown is stored, and kept for a day. Any session ends it. Does nothing while one runs.
   */
  async look(): Promise<void> {
    if (this.#run || this.#opened) return
    const bench = this.#choice.need()
    this.#o.store.dropOldLooks()
    await this.links.connect(bench)
    const channels = bench.channels.filter(({ enabled }) => enabled)
    const isReady = () =>
      this.links
        .views(bench)
        .some(
          ({ instrument, state }) => state === 'ready' && channels.some((c) => c.instrument === instrument),
        )
    for (let waitedMs = 0; !isReady() && waitedMs < LOOK_WAIT_MS; waitedMs += LOOK_AGAIN_MS)
      await this.#o.clock.sleep(LOOK_AGAIN_MS)
    if (this.#run || this.#opened || !isReady()) return
    await this.#start({ kind: 'look', plan: null, operator: 'station', name: 'Look at the bench' })
  }

  /** Ends a look, so that the links are free for what follows. */
  async endLook(why: string): Promise<void> {
    if (this.#run?.info.kind !== 'look') return
    this.#stopRecording?.(why)
    await this.#finished
  }

  /** Starts a plan unattended. Refused in words where the preview says stop, or a warning was not taken on. */
  async startPlan(options: StartOptions): Promise<string> {
    await this.endLook('A plan begins.')
    this.#refuseWhileRunning(said('plan-while-running', {}))
    const plan = typeof options.plan === 'string' ? this.#planOf(options.plan) : Plan.parse(options.plan)
    const { checks } = this.preview(plan)
    const stop = checks.find((c) => c.severity === 'stop')
    if (stop)
      throw new StationError('refused', said('plan-stopped-by', { words: stop.words, remedy: stop.remedy }), {
        check: stop.id,
      })
    const open = checks.filter((c) => c.severity === 'warning' && !options.accept?.includes(c.id))
    if (open.length > 0) {
      throw new StationError(
        'refused',
        said('warnings-not-accepted', { open: open.map((c) => c.words).join(' ') }),
        {
          warnings: open.map((c) => c.id),
        },
      )
    }
    return this.#start({ ...options, kind: 'comparison', plan })
  }

  /** Records without a plan, until stopped. */
  async record(options: { operator: string; name?: string }): Promise<string> {
    await this.endLook('A recording begins.')
    this.#refuseWhileRunning(said('begin-while-running', {}))
    return this.#start({ ...options, kind: 'recording', plan: null })
  }

  /** Leads a thermometer through a sequence of cells. Refused in words where the bench has no such channel, or the order is none. */
  async runCells(options: { operator: string; name?: string; cells: CellPlan }): Promise<string> {
    await this.endLook('A sequence of cells begins.')
    this.#refuseWhileRunning(said('begin-while-running', {}))
    const cells = CellPlan.parse(options.cells)
    refuseCellPlan(cells, this.#choice.need(), this.#o.store.register().cells ?? [])
    const names = cells.steps.map(({ fixedPoint }) => (fixedPoint === 'H2O' ? 'WTP' : fixedPoint)).join(', ')
    return this.#start({
      ...options,
      name: options.name || `Cells: ${names}`,
      kind: 'fixed-point',
      plan: null,
      cells,
    })
  }

  pause(who: string, why: string): void {
    this.#needRunner().pause(who, why)
  }

  resume(who: string): void {
    this.#needRunner().resume(who)
  }

  takeNow(who: string, why: string): void {
    this.#needRunner().takeNow(who, why)
  }

  skip(who: string, why: string): void {
    this.#needRunner().skip(who, why)
  }

  /** Ends the session. A plan is stopped for a reason; a recording has none to give: it goes on until it is stopped. */
  stop(who: string, why = ''): void {
    const { runner, cells } = this.#needRun()
    if (cells) {
      cells.stop(who, why)
      return
    }
    if (!runner) {
      this.#stopRecording?.(why === '' ? `Stopped by ${who}.` : `Stopped by ${who}: ${why}`)
      return
    }
    if (why === '') {
      throw new StationError('refused', said('stop-without-reason', {}))
    }
    runner.stop(who, why)
  }

  answer(question: string, choice: string, who: string): void {
    this.#needRun().questions.answer(question, choice, who)
  }

  note(who: string, words: string): void {
    this.#needRun().recorder.commit({
      events: [this.#needRun().recorder.event({ kind: 'note', who, said: said('note', { words }) })],
    })
  }

  acknowledge(id: string, who: string): void {
    this.alarms.acknowledge(id, who)
  }

  /** One line typed by a person. While a session uses the link it needs `override`, and is written down. */
  async converse(
    instrument: string,
    line: string,
    who: string,
    override = false,
  ): Promise<string | undefined> {
    const found = this.links.get(instrument)
    if (!found) {
      throw new StationError('no-such-instrument', said('instrument-not-connected', { instrument }), {
        instrument,
      })
    }
    const run = this.#run
    if (run && run.info.kind !== 'look' && !override) {
      throw new StationError('session-runs', said('instrument-in-use', { instrument }), { instrument })
    }
    run?.recorder.tell({
      kind: 'note',
      who,
      subject: instrument,
      said: said('line-typed', { who, instrument, line }),
      data: { line },
    })
    this.#o.log.info({ instrument, who, line }, 'typed to an instrument')
    try {
      return await found.converse(line)
    } finally {
      for (const lane of run?.lanes ?? []) lane.doubt()
    }
  }

  /** Live readings as a column buffer; see the contract. */
  live(after: number, backlogS: number, most: number): Uint8Array<ArrayBuffer> {
    const run = this.#run ?? this.#ended?.run
    if (!run) return packColumns({}, { session: null, channels: [], last: 0 })
    return run.liveAfter(after, backlogS, most)
  }

  /** seq of the newest reading that `live` can give; 0 for none. */
  get lastLive(): number {
    return (this.#run ?? this.#ended?.run)?.live.last ?? 0
  }

  /** Whether readings arrive, for whoever looks after this process. */
  pulse(): Pulse {
    // A meter or scanner that is lost explains silence; a bath gives no readings.
    const answering = [...this.links.instruments.values()].every(
      ({ role, status }) => role === 'bath' || status.state === 'ready',
    )
    return this.#pulse.take(this.#run, answering)
  }

  /** Counts of the changes to what a window may have read. */
  get versions(): Readonly<StationState['versions']> {
    return this.#versions
  }

  /** Something the window shows was changed by way of the store. */
  touched(what: keyof StationState['versions']): void {
    if (what === 'bench') this.#choice.reread()
    if (what === 'settings') this.#alarms.reread()
    if (what === 'bench' || what === 'register') {
      for (const instrument of this.links.instruments.values()) this.#limited(instrument)
    }
    this.#versions[what] += 1
    this.#changed()
  }

  state(): StationState {
    const { clock, clockKind = 'real', program } = this.#o
    const bench = this.#run?.setup.bench ?? this.bench
    const { utcUs } = clock.now()
    return {
      utcUs,
      clock: clockKind,
      pace: clock instanceof VirtualClock ? Math.min(clock.speed, FASTEST_PACE) : null,
      program,
      bench: bench ? { id: bench.id, name: bench.name } : null,
      ...sessionState(this.#run, this.#ended, utcUs),
      links: this.links.views(bench),
      alarms: this.alarms.list(),
      disk: this.#disk.state,
      versions: { ...this.#versions },
    }
  }

  async #start(wanted: SessionWanted): Promise<string> {
    const { store, clock } = this.#o
    const bench = this.#choice.need()
    if (this.#starting) {
      throw new StationError('session-runs', said('session-being-started', {}))
    }
    this.#starting = true
    try {
      await this.links.connect(bench)
      const [problem] = this.links.problems
      if (problem !== undefined) throw new StationError('refused', asTold(problem))
      const profileTexts = this.#o.profileTexts()
      const makings = { ...this.#o, bench, profileTexts, utcUs: clock.now().utcUs }
      const { info, setup } = newSession(wanted, makings)
      await this.#begin(beginSession(store, clock, info, setup))
      return info.id
    } finally {
      this.#starting = false
    }
  }

  #tryToOpen(id: string): OpenedSession | undefined {
    const { store, clock, log } = this.#o
    try {
      return takeUpSession(store, clock, id)
    } catch (fault) {
      if (!(fault instanceof StoreError)) throw fault
      log.error({ fault, session: id }, 'a session that was left open cannot be taken up')
      this.alarms.raise({
        key: `left-open-${id}`,
        kind: 'disk',
        severity: 'alarm',
        subject: id,
        said: said('left-open-lost', { session: id, why: saidBy(fault) }),
      })
      return undefined
    }
  }

  #closeLeftOver(id: string): void {
    const opened = this.#tryToOpen(id)
    if (!opened) return
    opened.file.finish('stopped-safely', 'It was left open; a later session has been begun since.')
    this.#o.store.registerSession(opened.file)
    opened.file.close()
  }

  async #begin(opened: OpenedSession): Promise<void> {
    const { clock, log } = this.#o
    this.alarms.end('plan-end')
    if (opened.resumedFrom) {
      this.alarms.putBack(unseenAlarms(opened.file.events({ kinds: ['alarm', 'alarm-acknowledged'] })))
    }
    this.#opened = opened
    this.#ended = undefined
    await this.links.connect(opened.file.setup.bench)
    const run = new SessionRun({
      ...opened,
      clock,
      instruments: this.links.instruments,
      alarms: this.alarms,
      reserve: this.#reserve,
      log,
      onChange: () => this.#changed(),
    })
    this.#run = run
    run.recorder.onDidTell.on(({ points, events }) => {
      if (points.length > 0) this.touched('points')
      for (const event of events) {
        const { kind, subject, data } = event
        if (kind === 'gap' && subject !== null)
          this.#alarms.watch.gapEnded(subject, saidOf(event), Number(data.seconds))
      }
    })
    if (this.#o.clockKind === 'real') {
      this.#awake = keepAwake(log)
      // Time that jumps would not wait for another thread.
      void opened.file.beginThread()
    }
    run.start()
    this.#finished = this.#untilEnded(run, opened)
    // Whoever does not wait for the end must not be told of it as an unhandled fault.
    this.#finished.catch((fault) => log.error({ fault }, 'the session ended with a fault'))
    this.touched('sessions')
  }

  async #untilEnded(run: SessionRun, opened: OpenedSession): Promise<Finished> {
    const led = run.runner ?? run.cells
    const outcome = led
      ? await led.start().then(() => {
          const { ending, endingReason } = led.state
          return ending ? { ending, reason: endingReason ?? '' } : undefined
        })
      : await new Promise<{ ending: Finished['ending']; reason: string } | undefined>((resolve) => {
          this.#stopRecording = (reason) =>
            resolve(reason === undefined ? undefined : { ending: 'stopped-by-person', reason })
        })
    if (!outcome) {
      return {
        session: run.info.id,
        ending: 'stopped-by-person',
        reason: 'The station was closed; the session stays open.',
      }
    }
    this.#ended = { view: endedView(run.view(), outcome), run, at: run.recorder.now() }
    await run.close()
    opened.file.finish(outcome.ending, outcome.reason)
    this.#o.store.registerSession(opened.file)
    opened.file.close()
    this.#awake?.dispose()
    this.#run = undefined
    this.#opened = undefined
    this.#stopRecording = undefined
    if (run.runner?.safeUnconfirmed) this.#goOnTryingSafe(run.setup.bench)
    this.touched('sessions')
    return { session: run.info.id, ...outcome }
  }

  #goOnTryingSafe(bench: Bench): void {
    const { clock, log } = this.#o
    const spec = bench.bath!
    void goOnTryingSafe({
      spec,
      bath: () => this.links.get(spec.instrument ?? '') as Bath | undefined,
      clock,
      alarms: this.alarms,
      log,
      goOn: () => !this.#closing && !this.#run,
    })
  }

  /** Gives a bath the limits of this bench and its fluid, from before its link opens: they hold on every path. */
  #limited(instrument: AnyInstrument): AnyInstrument {
    const spec = this.#run?.setup.bench.bath ?? this.bench?.bath
    if (instrument.role !== 'bath' || spec?.instrument !== instrument.id) return instrument
    const fluid = this.#run
      ? this.#run.setup.register.fluids.find((f) => f.id === spec.fluid)
      : this.#o.store.registerOf({ fluids: [spec.fluid] }).fluids[0]
    const { lowC, highC } = bathLimits(spec, fluid)
    ;(instrument as Bath).limits = { lowC, highC }
    return instrument
  }

  #planOf(id: string): Plan {
    const plan = this.#o.store.records.one('plan', id)
    if (!plan) throw new StationError('no-plan', said('no-such-plan', { id }), { id })
    return plan
  }

  #needRun(): SessionRun {
    if (!this.#run) throw new StationError('no-session', said('no-session-running', {}))
    return this.#run
  }

  #needRunner() {
    const { runner } = this.#needRun()
    if (!runner) throw new StationError('not-now', said('session-without-plan', {}))
    return runner
  }

  #refuseWhileRunning(why: Said): void {
    const running = this.#run?.info ?? this.#opened?.file.info
    if (running) throw new StationError('session-runs', why, { session: running.id })
  }

  #today(): string {
    return utcDay(this.#o.clock.now().utcUs)
  }

  /** Tells listeners once for all changes of one turn of the event loop. */
  #changed(): void {
    if (this.#told || this.onDidChange.size === 0) return
    this.#told = true
    setImmediate(() => {
      this.#told = false
      this.onDidChange.emit()
    })
  }
}

/** Unit that each instrument of a bench measures in, as its profile says. */
function unitsOf(
  { instruments }: Bench,
  profileTexts: Readonly<Record<string, string>>,
): Readonly<Record<string, RawUnit>> {
  const known = instruments.flatMap(({ id, profile }): [string, RawUnit][] => {
    const unit = ProfileUnit.safeParse(JSON.parse(profileTexts[profile] ?? '{}')).data?.unit
    return unit === undefined ? [] : [[id, unit]]
  })
  return Object.fromEntries(known)
}

const ProfileUnit = z.object({ unit: RawUnit })
