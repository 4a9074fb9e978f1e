import type { Watch } from '../../app/comparison/watch.ts'
import { celsiusWords, duration } from '../../app/comparison/words.ts'
import { InstrumentError } from '../../app/instruments/faces.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { Clock } from '../../app/records/clock.ts'
import type { Plan } from '../../app/records/plan.ts'
import type { Point } from '../../app/records/point.ts'
import type { AlarmDesk } from './alarm-desk.ts'
import type { BathKeeper, BathTrouble } from './bath-keeper.ts'
import type { PointTaker } from './point-taker.ts'
import type { Questions } from './questions.ts'
import type { Batch, EventWords, Recorder } from './recorder.ts'
import { RunnerState } from './runner-state.ts'
import { StationError } from './station-error.ts'
import type { WtpCheck } from './wtp-check.ts'

export interface RunnerParts {
  readonly plan: Plan
  readonly bench: Bench
  readonly clock: Clock
  readonly recorder: Recorder
  readonly watch: Watch
  readonly taker: PointTaker
  /** Absent: the bath is set by hand. */
  readonly keeper: BathKeeper | undefined
  readonly questions: Questions
  readonly alarms: AlarmDesk
  readonly wtp: WtpCheck
  /** Waits until what the plan needs is identified; names what is not. */
  readonly ready: (signal: AbortSignal) => Promise<string | undefined>
  readonly onChange: () => void
}

/** Why an act under way is broken off: the state has changed underneath it. */
class Interrupted extends Error {
  constructor() {
    super('the plan has taken another turn')
    this.name = 'Interrupted'
  }
}

const LOOK_MS = 5_000
/** Attempts at sending a setpoint, and the pause between them, before the bath counts as deaf. */
const SET_ATTEMPTS = 4
const SET_AGAIN_MS = 30_000
/** How long a reference may be without a reading that counts while the bath is away from its safe setpoint, s. */
const REFERENCE_LOST_S = 600
/** Most often that a wait is extended, and a point taken anew. */
const MOST_EXTENSIONS = 3
const MOST_RETAKES = 2
/** A jump of the wall clock from which on nobody knows what happened meanwhile, s. */
const LOST_S = 5
/** How long the safe setpoint is tried to be set before the session is closed without it, s. */
const SAFE_PATIENCE_S = 1_800

/**
 * Runs a plan from open links to the last point, or to a safe stop with its reason. An explicit state machine: `state` is
 * stored, then acted upon; a restart reads it back and acts upon it again, every act being one that may be repeated.
 */
export class Runner {
  readonly #p: RunnerParts
  #state: RunnerState
  #turn = new AbortController()
  #running: Promise<void> | undefined
  #closing = false
  #guard: { dispose(): void } | undefined
  #waitFrom = 0
  /** Looks in a row at which the reference was too hot. */
  #hot = 0
  #safeUnconfirmed = false
  /** When this life of the runner began: silence before it is a gap of the station's own. */
  #bornMonoUs = 0

  constructor(parts: RunnerParts, state: RunnerState) {
    this.#p = parts
    this.#state = RunnerState.parse(state)
  }

  get state(): RunnerState {
    return this.#state
  }

  get setpointC(): number | null {
    if (this.#state.part !== 'setpoints') return null
    return this.#p.plan.setpoints[this.#state.step]?.celsius ?? null
  }

  /** The bath has not confirmed its safe setpoint: somebody must go on trying. */
  get safeUnconfirmed(): boolean {
    return this.#safeUnconfirmed
  }

  /** Seconds waited at this setpoint so far, and the most. */
  get waiting(): { s: number; mostS: number } | null {
    if (this.#state.phase !== 'waiting') return null
    return { s: this.#waited(), mostS: this.#state.waitS }
  }

  /** Runs until the plan has ended, or until `detach`. */
  start(): Promise<void> {
    this.#running ??= this.#run()
    return this.#running
  }

  /** Lets go without ending the plan: the state stays as it is, for the next one who opens the session. */
  async detach(): Promise<void> {
    this.#closing = true
    this.#turn.abort(new Interrupted())
    await this.#running
  }

  pause(who: string, why: string): void {
    this.#refuseWhen(['paused', 'finishing', 'stopping', 'ended'], 'paused')
    this.#turnTo(
      { phase: 'paused', pausedFrom: this.#state.phase, waitedS: this.#waited() },
      { kind: 'decision', who, words: `Paused by ${who}${why ? `: ${why}` : ''}.` },
    )
  }

  resume(who: string): void {
    if (this.#state.phase !== 'paused') throw new StationError('not-now', 'The plan is not paused.')
    const back = this.#state.pausedFrom
    // A wait or a measurement broken off begins again with a fresh window.
    const phase = back === 'measuring' || back === 'waiting' ? 'setting' : (back ?? 'setting')
    this.#turnTo({ phase, pausedFrom: null }, { kind: 'decision', who, words: `Resumed by ${who}.` })
  }

  takeNow(who: string, why: string): void {
    if (this.#state.phase !== 'waiting') {
      throw new StationError(
        'not-now',
        'A point can be taken at once only while the plan waits for settling.',
      )
    }
    this.#turnTo(
      { phase: 'measuring', takeNow: { who, why } },
      { kind: 'decision', who, words: `${who} takes the point now: ${why}` },
    )
  }

  skip(who: string, why: string): void {
    this.#refuseWhen(['finishing', 'stopping', 'ended'], 'skipped')
    if (this.#state.part !== 'setpoints') {
      throw new StationError('not-now', 'No setpoint is under way. Answer the question, or stop the plan.')
    }
    const words = `Setpoint ${this.#state.step + 1}, ${celsiusWords(this.setpointC ?? Number.NaN)}, skipped by ${who}: ${why}`
    this.#turnTo(this.#next([...this.#state.marks, words]), { kind: 'decision', who, words })
  }

  stop(who: string, why: string): void {
    this.#refuseWhen(['stopping', 'ended'], 'stopped')
    this.#turnTo(
      { phase: 'stopping', stopping: { by: 'person', who, reason: why } },
      { kind: 'decision', who, words: `Stopped by ${who}: ${why}` },
    )
  }

  /** The bath is not as it must be: to the safe setpoint, now. */
  trouble(trouble: BathTrouble): void {
    if (['stopping', 'ended'].includes(this.#state.phase)) return
    this.#stopSafely(trouble.words, `bath-${trouble.code}`)
  }

  /** The computer slept, or its clock was set: what the bath did meanwhile nobody saw, so windows begin afresh. */
  timeWasLost(seconds: number): void {
    if (seconds < LOST_S || !['waiting', 'measuring'].includes(this.#state.phase)) return
    this.#turnTo(
      { phase: 'setting', waitedS: this.#waited() },
      { kind: 'plan-step', words: 'Time was lost: the setpoint is confirmed and the window begins afresh.' },
      // Nothing is risked by it, and it is stored with the next step at the latest.
      { evenUnstored: true },
    )
  }

  #stopSafely(reason: string, key: string): void {
    this.#p.alarms.raise({
      key,
      kind: 'bath',
      severity: 'alarm',
      subject: null,
      words: `${reason} Going to the safe setpoint.`,
    })
    // The way to safety does not wait for a disk: where the state cannot be stored it is acted upon all the same.
    this.#turnTo(
      { phase: 'stopping', stopping: { by: 'station', who: 'station', reason } },
      { kind: 'plan-step', words: `${reason} Going to the safe setpoint.` },
      { evenUnstored: true },
    )
  }

  #refuseWhen(phases: readonly RunnerState['phase'][], what: string): void {
    if (phases.includes(this.#state.phase)) {
      throw new StationError('not-now', `The plan cannot be ${what} now: it is ${this.#state.phase}.`)
    }
  }

  /** Stores the next state with what led to it, then breaks off what is under way so that the loop takes it up. */
  #turnTo(change: Partial<RunnerState>, event: EventWords, { evenUnstored = false } = {}): void {
    if (evenUnstored) this.#store(change, [event], {}, true)
    else this.#store(change, [event])
    this.#turn.abort(new Interrupted())
  }

  #store(
    change: Partial<RunnerState>,
    events: EventWords[] = [],
    batch: Batch = {},
    evenUnstored = false,
  ): void {
    const { recorder, onChange } = this.#p
    const phaseChanged = change.phase !== undefined && change.phase !== this.#state.phase
    const next: RunnerState = {
      ...this.#state,
      ...(phaseChanged && { phaseSinceUtcUs: recorder.now().utcUs }),
      ...change,
    }
    const all: Batch = {
      ...batch,
      events: [
        ...(batch.events ?? []),
        ...events.map((e) =>
          recorder.event({ ...e, data: { ...e.data, phase: next.phase, part: next.part, step: next.step } }),
        ),
      ],
      runner: next,
    }
    if (evenUnstored) recorder.attempt(all)
    else recorder.commit(all)
    this.#state = next
    onChange()
  }

  async #run(): Promise<void> {
    this.#bornMonoUs = this.#p.recorder.now().monoUs
    this.#guard = this.#startGuard()
    try {
      while (this.#state.phase !== 'ended' && !this.#closing) {
        this.#turn = new AbortController()
        try {
          await this.#act(this.#turn.signal)
        } catch (fault) {
          if (this.#closing) break
          if (this.#turn.signal.aborted) continue
          await this.#afterFault(fault)
        }
      }
    } finally {
      this.#guard.dispose()
    }
  }

  async #afterFault(fault: unknown): Promise<void> {
    const words = fault instanceof Error ? fault.message : String(fault)
    if (isStorageFault(fault)) {
      // The state could not be stored, so it was not acted upon; the recorder tries the disk again by itself.
      this.#p.alarms.raise({ key: 'disk', kind: 'disk', severity: 'alarm', subject: null, words })
      await this.#p.clock.sleep(LOOK_MS)
      return
    }
    if (this.#state.phase === 'stopping') {
      await this.#p.clock.sleep(LOOK_MS)
      return
    }
    this.#stopSafely(`The plan cannot go on: ${words}`, 'plan-fault')
  }

  #act(signal: AbortSignal): Promise<void> {
    switch (this.#state.phase) {
      case 'idle':
      case 'opening':
        return this.#opening(signal)
      case 'checking':
        return this.#checking(signal)
      case 'setting':
        return this.#setting(signal)
      case 'waiting':
        return this.#waitingPhase(signal)
      case 'measuring':
        return this.#measuring(signal)
      case 'paused':
        return untilAborted(signal)
      case 'finishing':
        return this.#finishing(signal)
      case 'stopping':
        return this.#stopping()
      case 'ended':
        return Promise.resolve()
    }
  }

  async #opening(signal: AbortSignal): Promise<void> {
    const missing = await this.#p.ready(signal)
    if (missing !== undefined) {
      this.#store({ phase: 'stopping', stopping: { by: 'station', who: 'station', reason: missing } }, [
        { kind: 'plan-step', words: missing },
      ])
      return
    }
    const { plan } = this.#p
    const part = this.#state.part === 'wtp-before' && !plan.wtpCheck ? 'setpoints' : this.#state.part
    const phase = part === 'setpoints' ? 'setting' : 'checking'
    this.#store({ phase, part }, [{ kind: 'plan-step', words: 'All instruments are identified.' }])
  }

  async #checking(signal: AbortSignal): Promise<void> {
    const which = this.#state.part === 'wtp-after' ? 'wtp-after' : 'wtp-before'
    const outcome = await this.#p.wtp.run(which, signal)
    const marks = [...this.#state.marks, ...outcome.marks]
    const points = outcome.point ? [outcome.point] : []
    const next: Partial<RunnerState> =
      which === 'wtp-before' ? { part: 'setpoints', phase: 'setting' } : { phase: 'finishing' }
    this.#store(
      { ...next, marks, points: [...this.#state.points, ...points.map((p) => p.id)] },
      [{ kind: 'decision', words: outcome.words, data: outcome.data }],
      { points },
    )
  }

  async #setting(signal: AbortSignal): Promise<void> {
    const { plan, keeper, recorder, watch } = this.#p
    const setpoint = plan.setpoints[this.#state.step]
    if (!setpoint) {
      this.#store({ phase: 'finishing' }, [{ kind: 'plan-step', words: 'Every setpoint has had its turn.' }])
      return
    }
    const words = `Setpoint ${this.#state.step + 1} of ${plan.setpoints.length}, ${celsiusWords(setpoint.celsius)}`
    this.#store({}, [{ kind: 'plan-step', words: `${words}: setting the bath.` }])
    watch.aim(setpoint.celsius, recorder.now())
    if (keeper) await this.#setBath(keeper, setpoint.celsius, words, signal)
    else await this.#setByHand(setpoint.celsius, signal)
    const now = recorder.now()
    watch.aim(setpoint.celsius, now)
    this.#store(
      {
        phase: 'waiting',
        aimedMonoUs: now.monoUs,
        waitS: this.#state.waitS > 0 ? this.#state.waitS : plan.maxWaitS,
      },
      [{ kind: 'plan-step', words: `${words}: waiting until settled.` }],
    )
  }

  async #setBath(keeper: BathKeeper, celsius: number, words: string, signal: AbortSignal): Promise<void> {
    for (let attempt = 1; ; attempt++) {
      try {
        await keeper.set(celsius, signal, words, this.#p.plan.rampKPerMin)
        return
      } catch (fault) {
        signal.throwIfAborted()
        if (!(fault instanceof InstrumentError)) throw fault
        if (attempt >= SET_ATTEMPTS || fault.code === 'refused') {
          this.#stopSafely(
            `The bath did not take the setpoint ${celsiusWords(celsius)}: ${fault.message}`,
            'bath-no-read-back',
          )
          return untilAborted(signal)
        }
        this.#p.recorder.tell({
          kind: 'link',
          subject: fault.instrument,
          words: `${fault.message} Trying again.`,
        })
        await this.#p.clock.sleep(SET_AGAIN_MS, signal)
      }
    }
  }

  async #setByHand(celsius: number, signal: AbortSignal): Promise<void> {
    const { questions, bench, recorder, alarms } = this.#p
    const bath = bench.bath?.name ?? 'the bath'
    alarms.raise({
      key: 'by-hand',
      kind: 'bath',
      severity: 'notice',
      subject: null,
      words: `The plan waits for ${bath} to be set to ${celsiusWords(celsius)} by hand.`,
    })
    const answer = await questions.ask(
      `Set ${bath} to ${celsiusWords(celsius)} by hand, and say so here. Hot or very cold fluid burns: keep to the rules of your laboratory.`,
      ['Set', 'Skip this setpoint', 'Stop the plan'],
      signal,
    )
    alarms.end('by-hand')
    if (answer.choice === 'Set') {
      recorder.commit({
        events: [
          recorder.event({
            kind: 'setpoint',
            who: answer.who,
            words: `${answer.who} has set ${bath} to ${celsiusWords(celsius)} by hand.`,
            data: { celsius, byHand: true },
          }),
        ],
      })
    } else if (answer.choice === 'Skip this setpoint') this.skip(answer.who, "at the station's question")
    else this.stop(answer.who, "at the station's question")
  }

  async #waitingPhase(signal: AbortSignal): Promise<void> {
    const { clock, recorder, watch, plan } = this.#p
    // After a restart the window is judged from the readings of this life alone if the aim was lost with the old one.
    if (watch.targetC === null) watch.aim(this.setpointC, recorder.now())
    this.#waitFrom = clock.now().monoUs
    for (;;) {
      const group = watch.group(recorder.now())
      if (group.state === 'flat') {
        this.#store({ phase: 'measuring', waitedS: this.#waited() }, [
          { kind: 'settled', words: `Settled after ${duration(this.#waited())}.` },
        ])
        return
      }
      if (this.#waited() >= this.#state.waitS) {
        this.#onTimeout(plan, group.words)
        return
      }
      await clock.sleep(LOOK_MS, signal)
    }
  }

  #waited(): number {
    if (this.#state.phase !== 'waiting') return this.#state.waitedS
    return this.#state.waitedS + (this.#p.clock.now().monoUs - this.#waitFrom) / 1e6
  }

  #onTimeout(plan: Plan, missing: string): void {
    const celsius = celsiusWords(this.setpointC ?? Number.NaN)
    const waited = duration(this.#state.waitS)
    const late = `${celsius} did not settle within ${waited} (${missing.replace(/\.$/, '')})`
    this.#p.alarms.raise({
      key: `wait-${this.#state.step}`,
      kind: 'drift',
      severity: 'warning',
      subject: null,
      words: `${late}.`,
    })
    switch (plan.onTimeout) {
      case 'skip':
        this.#store(this.#next([...this.#state.marks, `${late}: skipped`]), [
          { kind: 'plan-step', words: `${late}: skipped, as the plan says.` },
        ])
        return
      case 'stop':
        this.#stopSafely(`${late}, and the plan says to stop then.`, 'wait-stop')
        return
      case 'extend':
        if (this.#state.extended < MOST_EXTENSIONS) {
          this.#store(
            {
              extended: this.#state.extended + 1,
              waitS: this.#state.waitS + plan.maxWaitS,
              waitedS: this.#waited(),
            },
            [{ kind: 'plan-step', words: `${late}: the wait is extended, as the plan says.` }],
          )
          return
        }
        break
      case 'take-marked':
        break
    }
    this.#store(
      {
        phase: 'measuring',
        marks: [...this.#state.marks, `${late}: taken and marked`],
        waitedS: this.#waited(),
      },
      [{ kind: 'plan-step', words: `${late}: taken and marked.` }],
    )
  }

  async #measuring(signal: AbortSignal): Promise<void> {
    const { plan, taker, watch, recorder } = this.#p
    const { step, takeNow } = this.#state
    const setpoint = plan.setpoints[step]!
    const group = watch.group(recorder.now())
    const settled = takeNow === null && group.state === 'flat'
    const reason = takeNow
      ? `Taken by ${takeNow.who}: ${takeNow.why}`
      : settled
        ? 'The settling rule held.'
        : `The wait ended: ${group.words}`
    const point = await taker.take(
      { order: plan.order, cycles: plan.cycles, selfHeating: setpoint.selfHeating },
      {
        id: `point-${step + 1}`,
        step,
        setpointC: setpoint.celsius,
        label: setpoint.label ?? null,
        kind: 'comparison',
        settled,
        reason,
        marks: settled ? [] : ['not settled'],
      },
      signal,
    )
    const doubts = point ? this.#doubts(point, settled) : ['not one reading counted']
    if (doubts.length > 0 && takeNow === null && this.#state.retakes < MOST_RETAKES && settled) {
      watch.aim(setpoint.celsius, recorder.now())
      this.#store(
        { phase: 'waiting', retakes: this.#state.retakes + 1, aimedMonoUs: recorder.now().monoUs },
        [{ kind: 'plan-step', words: `The point is taken anew: ${doubts.join('; ')}.` }],
      )
      return
    }
    const name = `Setpoint ${step + 1}, ${celsiusWords(setpoint.celsius)}`
    const marks = [...this.#state.marks]
    if (doubts.length > 0) marks.push(`${name}: ${doubts.join('; ')}`)
    if (takeNow) marks.push(`${name}: taken by ${takeNow.who} before it had settled`)
    const kept: Point[] = point ? [{ ...point, marks: [...point.marks, ...doubts] }] : []
    this.#store(
      { ...this.#next(marks), points: [...this.#state.points, ...kept.map((p) => p.id)] },
      [
        {
          kind: 'plan-step',
          words: point
            ? `${name}: point taken${doubts.length > 0 ? `, marked: ${doubts.join('; ')}` : ''}.`
            : `${name}: no point, ${doubts.join('; ')}.`,
        },
      ],
      { points: kept },
    )
  }

  /** What speaks against a point just taken. */
  #doubts(point: Point, settled: boolean): string[] {
    const { bench, plan } = this.#p
    const doubts: string[] = []
    for (const channel of bench.channels) {
      if (!channel.enabled || channel.role === 'monitor') continue
      const taken = point.channels.find((c) => c.channel === channel.id)
      if (!taken) {
        doubts.push(`${channel.name} has no reading that counts`)
        continue
      }
      if (taken.marks.includes('stuck')) doubts.push(`${channel.name} repeats the same value`)
      if (taken.leftOut > taken.n) doubts.push(`${channel.name} lost most of its readings`)
      if (!settled || channel.role !== 'reference') continue
      // A point is short: only a drift that its own noise cannot explain speaks against it.
      const drift = Math.abs(taken.driftMkPerMin ?? 0)
      const doubt = 2 * drift * Math.abs(taken.uRawDriftPerS / taken.rawDriftPerS || 0)
      if (drift - doubt > 2 * plan.settling.driftMkPerMin) doubts.push('the bath drifted meanwhile')
      else if ((taken.sdMk ?? 0) > 3 * plan.settling.spreadMk) doubts.push('the bath was restless meanwhile')
      const off = Math.abs((taken.t90C ?? point.setpointC) - point.setpointC)
      if (off > 1.5 * plan.settling.bandK) doubts.push('the bath left the band meanwhile')
    }
    return doubts
  }

  #next(marks: string[]): Partial<RunnerState> {
    const last = this.#state.step + 1 >= this.#p.plan.setpoints.length
    return {
      phase: last ? 'finishing' : 'setting',
      step: last ? this.#state.step : this.#state.step + 1,
      pausedFrom: null,
      waitS: 0,
      waitedS: 0,
      extended: 0,
      retakes: 0,
      takeNow: null,
      marks,
    }
  }

  async #finishing(signal: AbortSignal): Promise<void> {
    const { plan, keeper, bench, watch, recorder } = this.#p
    watch.aim(null, recorder.now())
    if (plan.atEnd === 'safe' && keeper && this.#state.part === 'setpoints') {
      recorder.tell({
        kind: 'setpoint',
        words: `Bath to its safe setpoint, ${celsiusWords(bench.bath!.safeC)}: the plan is through.`,
        data: { celsius: bench.bath!.safeC },
      })
      if (!(await this.#trySafe(signal))) {
        this.#state = { ...this.#state, marks: [...this.#state.marks, this.#unconfirmed()] }
      }
    }
    if (plan.wtpCheck && this.#state.part === 'setpoints') {
      this.#store({ part: 'wtp-after', phase: 'checking' }, [
        { kind: 'plan-step', words: 'R(WTP) is checked after the setpoints.' },
      ])
      return
    }
    const { marks } = this.#state
    const good = marks.length === 0
    const reason = good
      ? `All ${plan.setpoints.length} setpoints were taken, settled.`
      : `All setpoints had their turn. ${marks.join('. ')}.`
    this.#end(good ? 'complete' : 'complete-with-marks', reason)
  }

  #unconfirmed(): string {
    return `the bath did not confirm its safe setpoint of ${celsiusWords(this.#p.bench.bath!.safeC)}: go and look`
  }

  async #stopping(): Promise<void> {
    const { keeper, bench, alarms } = this.#p
    const { by, who, reason } = this.#state.stopping!
    let account = reason
    if (keeper) {
      const confirmed = await this.#trySafe()
      if (confirmed) account += ` The bath is set to its safe setpoint, ${celsiusWords(bench.bath!.safeC)}.`
      else {
        account += ` And ${this.#unconfirmed()}.`
        alarms.raise({ key: 'bath-unsafe', kind: 'bath', severity: 'alarm', subject: null, words: account })
      }
    } else if (bench.bath) {
      const words = `Bring ${bench.bath.name} to ${celsiusWords(bench.bath.safeC)} by hand.`
      account += ` ${words}`
      alarms.raise({ key: 'bath-by-hand', kind: 'bath', severity: 'alarm', subject: null, words })
    }
    if (by === 'person') this.#end('stopped-by-person', `Stopped by ${who}: ${account}`)
    else this.#end('stopped-safely', account)
  }

  /** Tries the safe setpoint until it is confirmed or patience ends. */
  async #trySafe(signal?: AbortSignal): Promise<boolean> {
    const { keeper, clock } = this.#p
    const until = clock.now().monoUs + SAFE_PATIENCE_S * 1e6
    for (;;) {
      this.#safeUnconfirmed = !(await keeper!.toSafe(signal))
      if (!this.#safeUnconfirmed) return true
      signal?.throwIfAborted()
      if (this.#closing || clock.now().monoUs >= until) return false
      await clock.sleep(SET_AGAIN_MS, signal)
    }
  }

  #end(ending: NonNullable<RunnerState['ending']>, reason: string): void {
    this.#store({ phase: 'ended', ending, endingReason: reason }, [
      { kind: 'plan-step', words: `The plan has ended: ${reason}`, data: { ending } },
    ])
    this.#p.alarms.raise({
      key: 'plan-end',
      kind: 'plan-end',
      severity: ending === 'complete' ? 'notice' : 'warning',
      subject: null,
      words: `The plan has ended (${ending}): ${reason}`,
    })
  }

  /** Looks after the reference while the bath may be hot. */
  #startGuard(): { dispose(): void } {
    const { clock } = this.#p
    let timer = { dispose: () => {} }
    const look = () => {
      this.#lookAtReference()
      timer = clock.after(LOOK_MS, look)
    }
    timer = clock.after(LOOK_MS, look)
    return { dispose: () => timer.dispose() }
  }

  #lookAtReference(): void {
    const { bench, watch, recorder, keeper } = this.#p
    if (!['waiting', 'measuring', 'setting'].includes(this.#state.phase) || !keeper) return
    const references = bench.channels.filter((c) => c.enabled && c.role === 'reference')
    if (references.length === 0) return
    const now = recorder.now()
    const silenceS = Math.min(
      ...references.map((c) => Math.min(watch.silenceS(c.id, now), (now.monoUs - this.#bornMonoUs) / 1e6)),
    )
    if (silenceS > REFERENCE_LOST_S) {
      this.#stopSafely(
        `The reference has given no usable reading for ${duration(silenceS)}.`,
        'reference-lost',
      )
      return
    }
    const hottest = Math.max(...references.map((c) => watch.celsius(c.id)).filter(Number.isFinite))
    if (hottest > keeper.limits.highC + 2) {
      this.#hot += 1
      if (this.#hot >= 3) {
        this.#stopSafely(
          `The reference reads ${celsiusWords(hottest)}, above the limit of ${celsiusWords(keeper.limits.highC)}.`,
          'reference-over-temperature',
        )
      }
    } else this.#hot = 0
  }
}

function untilAborted(signal: AbortSignal): Promise<never> {
  return new Promise((_, reject) => {
    if (signal.aborted) reject(signal.reason)
    else signal.addEventListener('abort', () => reject(signal.reason), { once: true })
  })
}

function isStorageFault(fault: unknown): boolean {
  return fault instanceof Error && fault.name === 'StoreError'
}
