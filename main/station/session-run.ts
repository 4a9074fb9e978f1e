import type { Clock, Disposable, Instant } from '../../app/base/clock.ts'
import { duration, utcDay } from '../../app/base/times.ts'
import type { RunnerView } from '../../app/contract/views.ts'
import type { AnyInstrument, Bath, EnvironmentSensor } from '../../app/instruments/faces.ts'
import { Watch } from '../../app/live/watch.ts'
import { said } from '../../app/messages/said.ts'
import type { StepTimes } from '../../app/plan/estimate.ts'
import type { CellPlan } from '../../app/records/cell-plan.ts'
import type { Reading } from '../../app/records/reading.ts'
import type { SessionInfo, SessionSetup } from '../../app/records/session.ts'
import type { DiskReserve } from '../store/disk.ts'
import type { SessionFile } from '../store/session-file.ts'
import type { AlarmDesk } from './alarm-desk.ts'
import { BathKeeper } from './bath-keeper.ts'
import { bathLimits } from './bath-limits.ts'
import { CellRunner } from './cell-runner.ts'
import { CellState, firstCellState } from './cell-state.ts'
import { ClockGuard } from './clock-guard.ts'
import { DiskGuard } from './disk-guard.ts'
import { watchEnvironment } from './environment.ts'
import { GuidedChecks } from './guided-checks.ts'
import { Intake } from './intake.ts'
import type { Lane } from './lane.ts'
import { makeLanes, untilReady } from './lanes.ts'
import { LiveRing } from './live-ring.ts'
import type { StationLog } from './log.ts'
import { PointTaker } from './point-taker.ts'
import { Questions } from './questions.ts'
import { Recorder } from './recorder.ts'
import { Runner } from './runner.ts'
import { firstState, RunnerState } from './runner-state.ts'
import { cellView, expectedNight, LOOKING, RECORDING, runnerWords } from './runner-view.ts'
import { Strip } from './strip.ts'
import { WtpCheck } from './wtp-check.ts'

export interface SessionRunParts {
  readonly file: SessionFile
  readonly clock: Clock
  /** Session's monotonic count less the clock's own, us. */
  readonly offsetUs: number
  readonly instruments: ReadonlyMap<string, AnyInstrument>
  readonly alarms: AlarmDesk
  /** Room set aside on the sessions' disk. */
  readonly reserve: DiskReserve
  readonly log: StationLog
  readonly onChange: () => void
  /** The core that wrote this file before is gone: since when. */
  readonly resumedFrom?: Instant | undefined
}

/** One open session: what measures, what watches, what stores, and the plan's runner where there is one. */
export class SessionRun {
  readonly info: SessionInfo
  readonly setup: SessionSetup
  readonly recorder: Recorder
  readonly watch: Watch
  readonly intake: Intake
  readonly questions: Questions
  readonly live: LiveRing
  readonly strip = new Strip()
  readonly keeper: BathKeeper | undefined
  readonly runner: Runner | undefined
  readonly cells: CellRunner | undefined
  readonly lanes: readonly Lane[]
  readonly #p: SessionRunParts
  readonly #ends: Disposable[] = []
  #points: number
  #closed = false

  constructor(parts: SessionRunParts) {
    this.#p = parts
    const { file, clock, alarms, instruments, onChange } = parts
    this.info = file.info
    this.setup = file.setup
    const { bench, plan, register } = this.setup
    const date = utcDay(this.info.startedUtcUs)
    this.recorder = new Recorder(file, clock, parts.offsetUs, file.readingCount)
    this.watch = new Watch({ bench, register, date, rule: plan?.settling ?? null })
    const channels = bench.channels.filter((c) => c.enabled)
    this.intake = new Intake(this.recorder, this.watch, channels)
    this.questions = new Questions(onChange)
    this.live = new LiveRing(channels.map((c) => c.id))
    this.lanes = makeLanes({ bench, instruments, clock, intake: this.intake, log: parts.log })
    this.keeper = this.#makeKeeper()
    this.#points = file.points().length
    this.#fillStrip()
    this.#refill()
    this.#ends.push(this.recorder.onDidStore.on((readings) => this.#take(readings)))
    this.#ends.push(
      new DiskGuard({ recorder: this.recorder, reserve: parts.reserve, alarms, clock, log: parts.log }),
    )
    if (this.setup.cells) this.cells = this.#cellRunner(this.setup.cells)
    if (plan) {
      const taker = new PointTaker({
        bench,
        lanes: this.lanes,
        watch: this.watch,
        recorder: this.recorder,
        clock,
      })
      const { recorder, watch, questions, keeper } = this
      const hands = { plan, bench, watch, recorder, clock, taker, questions }
      const wtp = new WtpCheck(hands)
      const guided = new GuidedChecks(hands)
      const stored = file.runnerState()
      const state = stored === undefined ? firstState(recorder.now().utcUs) : RunnerState.parse(stored)
      this.runner = new Runner(
        {
          plan,
          bench,
          clock,
          recorder,
          watch,
          taker,
          keeper,
          questions,
          alarms,
          wtp,
          guided,
          ready: (signal) => untilReady(bench, instruments, clock, signal),
          onChange,
        },
        parts.resumedFrom ? takenUp(state) : state,
      )
      if (parts.resumedFrom && this.runner.setpointC !== null) keeper?.adopt(this.runner.setpointC)
    }
  }

  get points(): number {
    return this.#points
  }

  /** Starts measuring, and the plan where there is one. */
  start(): void {
    const { clock, resumedFrom, instruments } = this.#p
    if (resumedFrom) this.#tellResumed(resumedFrom)
    else this.#tellOpened()
    for (const lane of this.lanes) lane.start()
    this.keeper?.start()
    this.#ends.push(new ClockGuard(clock, (seconds) => this.#clockStepped(seconds)))
    for (const instrument of instruments.values()) {
      this.#ends.push(this.#followLink(instrument))
      if (instrument.role === 'environment') {
        this.#ends.push(watchEnvironment(instrument as EnvironmentSensor, clock, this.recorder))
      }
    }
  }

  /** Ends measuring. The runner must have ended or been detached before. */
  async close(): Promise<void> {
    this.#closed = true
    for (const end of this.#ends.splice(0)) end.dispose()
    await Promise.all([...this.lanes.map((lane) => lane.stop()), this.keeper?.stop()])
    this.recorder.close()
    await this.#p.file.endThread()
  }

  /** Live readings as a column buffer; what the ring no longer holds comes from the file. */
  liveAfter(after: number, backlogS: number, most: number): Uint8Array<ArrayBuffer> {
    if (after === 0 || after + 1 >= this.live.first || this.#closed) {
      return this.live.after(after, backlogS, most, this.info.id)
    }
    const past = new LiveRing(this.live.channels, Math.min(most, this.live.size))
    for (const reading of this.#p.file.since(after, past.size)) {
      const chain = this.watch.chains.get(reading.channel)
      if (!chain) continue
      const value = reading.value === null ? Number.NaN : Number(reading.value)
      past.push(reading, chain.convert(value, reading.unit, reading.currentMa, this.watch.context))
    }
    return past.after(after, backlogS, most, this.info.id)
  }

  /** What is still to come, s from now, and when it should be over. */
  expected(): { steps: readonly StepTimes[]; endS: number } | null {
    const { plan, bench } = this.setup
    const { runner, watch } = this
    if (!plan || !runner) return null
    const bathC = this.keeper?.temperatureC ?? null
    return expectedNight({
      plan,
      bench,
      runner,
      watch,
      strip: this.strip.marks,
      bathC,
      now: this.recorder.now(),
    })
  }

  /**
   * For how long a channel has given nothing usable though it should have, s; Infinity where it never has. 0 while it
   * waits its turn behind an order of reading whose lane is heard at least every `withinS`.
   */
  silenceS(channel: string, withinS: number): number {
    if (this.lanes.some((lane) => lane.waitsItsTurn(channel, withinS))) return 0
    return this.watch.silenceS(channel, this.recorder.now())
  }

  view(): RunnerView {
    const { plan } = this.setup
    const { runner } = this
    const base = {
      startedUtcUs: this.info.startedUtcUs,
      bathC: this.keeper?.temperatureC ?? null,
      question: this.questions.open,
    }
    if (this.cells) return { ...base, ...cellView(this.info.id, this.cells) }
    if (!runner || !plan)
      return { ...base, ...RECORDING, ...(this.info.kind === 'look' && { words: LOOKING }) }
    const { phase, part, step, ending } = runner.state
    const expected = this.expected()
    return {
      ...base,
      phase,
      words: runnerWords(plan, runner),
      step: part === 'setpoints' ? step : null,
      steps: plan.setpoints.length,
      setpointC: runner.setpointC,
      expectedEndUtcUs: expected ? Math.round(this.recorder.now().utcUs + expected.endS * 1e6) : null,
      ending,
    }
  }

  #cellRunner(plan: CellPlan): CellRunner {
    const { file, clock, instruments, onChange, resumedFrom } = this.#p
    const { bench, register } = this.setup
    const { recorder, questions } = this
    const stored = file.runnerState()
    const state = stored === undefined ? firstCellState() : CellState.parse(stored)
    const ready = (signal: AbortSignal) => untilReady(bench, instruments, clock, signal)
    return new CellRunner(
      { plan, bench, register, clock, recorder, questions, ready, onChange },
      resumedFrom && state.phase === 'watching' ? { ...state, phase: 'opening' } : state,
    )
  }

  #makeKeeper(): BathKeeper | undefined {
    const { bench, register } = this.setup
    const spec = bench.bath
    const instrument = spec?.instrument === undefined ? undefined : this.#p.instruments.get(spec.instrument)
    if (!spec || instrument?.role !== 'bath') return undefined
    return new BathKeeper({
      bath: instrument as Bath,
      spec,
      limits: bathLimits(
        spec,
        register.fluids.find((f) => f.id === spec.fluid),
      ),
      clock: this.#p.clock,
      recorder: this.recorder,
      onTrouble: (trouble) => this.runner?.trouble(trouble),
      onChange: this.#p.onChange,
    })
  }

  #take(readings: readonly Reading[]): void {
    for (const reading of readings) {
      const converted = this.watch.take(reading)
      if (converted) this.live.push(reading, converted)
    }
    this.#p.onChange()
  }

  /** What earlier lives of the core stored in the last window is watched again, so settling goes on where it was. */
  #refill(): void {
    if (!this.#p.resumedFrom) return
    const { file } = this.#p
    const { rule } = this.watch
    const windowUs = (rule.windowS * rule.adaptive + rule.holdS) * 1e6
    const last = this.recorder.file.since(Math.max(0, file.readingCount - 1), 1)[0]
    if (!last) return
    const readings = this.setup.bench.channels.flatMap((c) => file.lastReadings(c.id, windowUs, last.monoUs))
    for (const reading of readings.sort((a, b) => a.seq - b.seq)) {
      const converted = this.watch.take(reading)
      if (converted) this.live.push(reading, converted)
    }
  }

  #fillStrip(): void {
    const { file } = this.#p
    for (const event of file.events()) this.strip.addEvent(event)
    for (const point of file.points()) this.strip.addPoint(point)
    this.#ends.push(
      this.recorder.onDidTell.on(({ events, points }) => {
        for (const event of events) this.strip.addEvent(event)
        for (const point of points) this.strip.addPoint(point)
        this.#points += points.length
      }),
    )
  }

  #tellOpened(): void {
    const { operator } = this.info
    const opened = this.recorder.event({
      kind: 'opened',
      who: operator,
      said: said('session-opened', { who: operator }),
    })
    const runner = this.runner?.state ?? this.cells?.state
    this.recorder.attempt({ events: [opened], ...(runner && { runner }) })
  }

  #tellResumed(from: Instant): void {
    const now = this.recorder.now()
    const seconds = Math.max(0, (now.monoUs - from.monoUs) / 1e6)
    const last = new Map(this.setup.bench.channels.map((c) => [c.id, from]))
    this.intake.interrupted(last, 'the station was not running')
    this.recorder.tell({
      kind: 'resumed',
      said: said('session-resumed', { time: duration(seconds) }),
      data: { fromUtcUs: from.utcUs, toUtcUs: now.utcUs, seconds },
    })
  }

  #clockStepped(seconds: number): void {
    this.recorder.tell({
      kind: 'clock-step',
      said: said(seconds > 0 ? 'clock-forward' : 'clock-back', { time: duration(Math.abs(seconds)) }),
      data: { seconds },
    })
    this.runner?.timeWasLost(seconds)
  }

  /** Told of each turn of a link, and at the start of one that is not ready: what is missing then is not measured. */
  #followLink(instrument: AnyInstrument): Disposable {
    const turnOf = ({ state, cause }: AnyInstrument['status']) =>
      `${state} ${cause === 'wrong-instrument' ? cause : ''}`
    let last = turnOf(instrument.status)
    const tell = ({ state, cause, said: words }: AnyInstrument['status']) =>
      this.recorder.tell({
        kind: 'link',
        subject: instrument.id,
        said: said('link', { instrument: instrument.id, words }),
        data: { state, ...(cause !== undefined && { cause }) },
      })
    if (instrument.status.cause !== undefined) tell(instrument.status)
    return instrument.onDidChangeStatus((status) => {
      // An instrument that came back as another is told of, though the link is as lost as it was.
      const turn = turnOf(status)
      if (turn === last) return
      last = turn
      tell(status)
    })
  }
}

/** How a plan goes on after the core was away: what was under way begins again, nothing is skipped. */
function takenUp(state: RunnerState): RunnerState {
  if (state.phase === 'waiting' || state.phase === 'measuring') return { ...state, phase: 'opening' }
  if (state.phase === 'setting') return { ...state, phase: 'opening' }
  return state
}
