// Longer than most: one state machine, whose turns are judged by reading them beside one another.

import type { Clock } from '../../app/base/clock.ts'
import { saidBy, saidByAny } from '../../app/base/coded-error.ts'
import { at } from '../../app/base/lists.ts'
import { duration } from '../../app/base/times.ts'
import { InstrumentError } from '../../app/instruments/faces.ts'
import { pointDoubts } from '../../app/live/point-doubts.ts'
import type { Watch } from '../../app/live/watch.ts'
import { celsiusWords } from '../../app/live/words.ts'
import { asTold, type Said, said } from '../../app/messages/said.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { Plan } from '../../app/records/plan.ts'
import type { Point } from '../../app/records/point.ts'
import { ENDING_WORDS } from '../../app/records/session.ts'
import { StoreError } from '../store/errors.ts'
import type { AlarmDesk } from './alarm-desk.ts'
import { BY_HAND, setByHand } from './bath-by-hand.ts'
import type { BathKeeper, BathTrouble } from './bath-keeper.ts'
import type { GuidedChecks } from './guided-checks.ts'
import { PlanBook } from './plan-book.ts'
import type { PointTaker } from './point-taker.ts'
import type { Questions } from './questions.ts'
import type { EventWords, Recorder } from './recorder.ts'
import { ReferenceGuard } from './reference-guard.ts'
import { PHASE_WORDS, type RunnerState } from './runner-state.ts'
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
  readonly guided: GuidedChecks
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
const SET_ATTEMPTS = 10
const SET_AGAIN_MS = 30_000
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
  readonly #book: PlanBook
  /** Aborted when the plan takes another turn than the one under way. */
  #turn = new AbortController()
  /** Aborted when the station lets go of the plan. */
  readonly #letGo = new AbortController()
  #running: Promise<void> | undefined
  #waitFrom = 0
  #safeUnconfirmed = false

  constructor(parts: RunnerParts, state: RunnerState) {
    this.#p = parts
    this.#book = new PlanBook(parts.recorder, state, parts.onChange)
  }

  get state(): RunnerState {
    return this.#book.state
  }

  get setpointC(): number | null {
    if (this.state.part !== 'setpoints') return null
    return this.#p.plan.setpoints[this.state.step]?.celsius ?? null
  }

  /** The bath has not confirmed its safe setpoint: somebody must go on trying. */
  get safeUnconfirmed(): boolean {
    return this.#safeUnconfirmed
  }

  /** Seconds waited at this setpoint so far, and the most. */
  get waiting(): { s: number; mostS: number } | null {
    if (this.state.phase !== 'waiting') return null
    return { s: this.#waited(), mostS: this.state.waitS }
  }

  /** Runs until the plan has ended, or until `detach`. */
  start(): Promise<void> {
    this.#running ??= this.#run()
    return this.#running
  }

  /** Lets go without ending the plan: the state stays as it is, for the next one who opens the session. */
  async detach(): Promise<void> {
    this.#letGo.abort(new Interrupted())
    this.#turn.abort(new Interrupted())
    await this.#running
  }

  pause(who: string, why: string): void {
    this.#refuseWhen(['paused', 'finishing', 'stopping', 'ended'], 'paused')
    this.#turnTo(
      { phase: 'paused', pausedFrom: this.state.phase, waitedS: this.#waited() },
      { kind: 'decision', who, said: because('paused', who, why) },
    )
  }

  resume(who: string): void {
    if (this.state.phase !== 'paused') throw new StationError('not-now', said('plan-not-paused', {}))
    const back = this.state.pausedFrom
    // A wait or a measurement broken off begins again with a fresh window.
    const phase = back === 'measuring' || back === 'waiting' ? 'setting' : (back ?? 'setting')
    this.#turnTo({ phase, pausedFrom: null }, { kind: 'decision', who, said: said('resumed', { who }) })
  }

  takeNow(who: string, why: string): void {
    if (this.state.phase !== 'waiting') {
      throw new StationError('not-now', said('take-now-not-settling', {}))
    }
    this.#turnTo(
      { phase: 'measuring', takeNow: { who, why } },
      { kind: 'decision', who, said: because('point-taken-now', who, why) },
    )
  }

  skip(who: string, why: string): void {
    this.#refuseWhen(['finishing', 'stopping', 'ended'], 'skipped')
    if (this.state.part !== 'setpoints') {
      throw new StationError('not-now', said('no-setpoint-under-way', {}))
    }
    const setpoint = setpointSaid(this.state.step, this.setpointC ?? Number.NaN)
    const skipped =
      why.trim() === ''
        ? said('setpoint-skipped', { setpoint, who })
        : said('setpoint-skipped-because', { setpoint, who, why })
    const next = this.#next([...this.state.marks, skipped.words])
    this.#turnTo(next, { kind: 'decision', who, said: skipped })
  }

  stop(who: string, why: string): void {
    this.#refuseWhen(['stopping', 'ended'], 'stopped')
    this.#turnTo(
      { phase: 'stopping', stopping: { by: 'person', who, reason: why } },
      { kind: 'decision', who, said: because('stopped', who, why) },
    )
  }

  /** The bath is not as it must be: to the safe setpoint, now. */
  trouble(trouble: BathTrouble): void {
    if (['stopping', 'ended'].includes(this.state.phase)) return
    this.#stopSafely(trouble.said, `bath-${trouble.code}`)
  }

  /** The computer slept, or its clock was set: what the bath did meanwhile nobody saw, so windows begin afresh. */
  timeWasLost(seconds: number): void {
    if (seconds < LOST_S || !['waiting', 'measuring'].includes(this.state.phase)) return
    this.#turnEvenUnstored(
      { phase: 'setting', waitedS: this.#waited() },
      { kind: 'plan-step', said: said('time-lost', {}) },
    )
  }

  #stopSafely(why: Said, key: string): void {
    const told = said('to-safety', { reason: why })
    this.#p.alarms.raise({ key, kind: 'bath', severity: 'alarm', subject: null, said: told })
    this.#turnEvenUnstored(
      { phase: 'stopping', stopping: { by: 'station', who: 'station', reason: why.words } },
      { kind: 'plan-step', said: told, data: { cause: key } },
    )
  }

  #refuseWhen(phases: readonly RunnerState['phase'][], what: string): void {
    if (phases.includes(this.state.phase)) {
      throw new StationError(
        'not-now',
        said('plan-phase-forbids', { what, phase: PHASE_WORDS[this.state.phase] }),
      )
    }
  }

  /** Stores the next state with what led to it, then breaks off what is under way so that the loop takes it up. */
  #turnTo(change: Partial<RunnerState>, event: EventWords): void {
    this.#book.write(change, [event])
    this.#turn.abort(new Interrupted())
  }

  /** The same where nothing is risked by a state that could not be stored. */
  #turnEvenUnstored(change: Partial<RunnerState>, event: EventWords): void {
    this.#book.writeIfPossible(change, [event])
    this.#turn.abort(new Interrupted())
  }

  async #run(): Promise<void> {
    const guard = this.#startGuard()
    try {
      while (this.state.phase !== 'ended' && !this.#letGo.signal.aborted) {
        this.#turn = new AbortController()
        try {
          await this.#act(AbortSignal.any([this.#turn.signal, this.#letGo.signal]))
        } catch (fault) {
          if (this.#letGo.signal.aborted) break
          if (this.#turn.signal.aborted) continue
          await this.#afterFault(fault)
        }
      }
    } finally {
      guard?.dispose()
    }
  }

  async #afterFault(fault: unknown): Promise<void> {
    const why = saidByAny(fault)
    if (isStorageFault(fault)) {
      // The state could not be stored, so it was not acted upon; the recorder tries the disk again by itself.
      this.#p.alarms.raise({ key: 'disk', kind: 'disk', severity: 'alarm', subject: null, said: why })
      await this.#p.clock.sleep(LOOK_MS)
      return
    }
    if (this.state.phase === 'stopping') {
      await this.#p.clock.sleep(LOOK_MS)
      return
    }
    this.#stopSafely(said('plan-cannot-go-on', { why }), 'plan-fault')
  }

  #act(signal: AbortSignal): Promise<void> {
    switch (this.state.phase) {
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
        return this.#stopping(signal)
      case 'ended':
        return Promise.resolve()
    }
  }

  async #opening(signal: AbortSignal): Promise<void> {
    const missing = await this.#p.ready(signal)
    if (missing !== undefined) {
      this.#book.write({ phase: 'stopping', stopping: { by: 'station', who: 'station', reason: missing } }, [
        { kind: 'plan-step', said: said('instruments-missing', { words: missing }) },
      ])
      return
    }
    const { plan } = this.#p
    const part = this.state.part === 'wtp-before' && !plan.wtpCheck ? 'setpoints' : this.state.part
    const phase = part === 'setpoints' ? 'setting' : 'checking'
    this.#book.write({ phase, part }, [{ kind: 'plan-step', said: said('instruments-identified', {}) }])
  }

  async #checking(signal: AbortSignal): Promise<void> {
    const which = this.state.part === 'wtp-after' ? 'wtp-after' : 'wtp-before'
    const outcome = await this.#p.wtp.run(which, signal)
    const marks = [...this.state.marks, ...outcome.marks]
    const points = outcome.point ? [outcome.point] : []
    const next: Partial<RunnerState> =
      which === 'wtp-before' ? { part: 'setpoints', phase: 'setting' } : { phase: 'finishing' }
    this.#book.write(
      { ...next, marks, points: [...this.state.points, ...points.map((p) => p.id)] },
      [{ kind: 'decision', said: outcome.said, data: outcome.data }],
      { points },
    )
  }

  async #setting(signal: AbortSignal): Promise<void> {
    const { plan, keeper, recorder, watch } = this.#p
    const setpoint = plan.setpoints[this.state.step]
    if (!setpoint) {
      this.#book.write({ phase: 'finishing' }, [{ kind: 'plan-step', said: said('setpoints-through', {}) }])
      return
    }
    const which = said('setpoint-of', {
      n: String(this.state.step + 1),
      count: String(plan.setpoints.length),
      celsius: celsiusWords(setpoint.celsius),
    })
    this.#book.write({}, [{ kind: 'plan-step', said: said('setting-bath', { setpoint: which }) }])
    watch.aim(setpoint.celsius, recorder.now())
    if (keeper) await this.#setBath(keeper, setpoint.celsius, which, signal)
    else await this.#setByHand(setpoint.celsius, signal)
    const now = recorder.now()
    watch.aim(setpoint.celsius, now)
    this.#book.write(
      {
        phase: 'waiting',
        aimedMonoUs: now.monoUs,
        waitS: this.state.waitS > 0 ? this.state.waitS : plan.maxWaitS,
      },
      [{ kind: 'plan-step', said: said('waiting-to-settle', { setpoint: which }) }],
    )
  }

  async #setBath(keeper: BathKeeper, celsius: number, why: Said, signal: AbortSignal): Promise<void> {
    for (let attempt = 1; ; attempt++) {
      try {
        await keeper.set(celsius, signal, why, this.#p.plan.rampKPerMin)
        return
      } catch (fault) {
        signal.throwIfAborted()
        if (!(fault instanceof InstrumentError)) throw fault
        if (attempt >= SET_ATTEMPTS || fault.code === 'refused') {
          this.#stopSafely(
            said('setpoint-not-taken', { celsius: celsiusWords(celsius), why: saidBy(fault) }),
            'bath-no-read-back',
          )
          return untilAborted(signal)
        }
        this.#p.recorder.tell({
          kind: 'link',
          subject: fault.instrument,
          said: said('trying-again', { fault: saidBy(fault) }),
          data: { code: fault.code },
        })
        await this.#p.clock.sleep(SET_AGAIN_MS, signal)
      }
    }
  }

  async #setByHand(celsius: number, signal: AbortSignal): Promise<void> {
    const bath = this.#p.bench.bath?.name ?? 'the bath'
    const { choice, who } = await setByHand({ ...this.#p, bath }, celsius, signal)
    if (choice === BY_HAND.skip) this.skip(who, "at the station's question")
    else if (choice === BY_HAND.stop) this.stop(who, "at the station's question")
    signal.throwIfAborted()
  }

  async #waitingPhase(signal: AbortSignal): Promise<void> {
    const { clock, recorder, watch, plan } = this.#p
    this.#waitFrom = clock.now().monoUs
    for (;;) {
      const group = watch.group(recorder.now())
      if (group.state === 'flat') {
        this.#book.write({ phase: 'measuring', waitedS: this.#waited() }, [
          { kind: 'settled', said: said('settled', { time: duration(this.#waited()) }) },
        ])
        return
      }
      if (this.#waited() >= this.state.waitS) {
        this.#onTimeout(plan, group.words)
        return
      }
      await clock.sleep(LOOK_MS, signal)
    }
  }

  #waited(): number {
    if (this.state.phase !== 'waiting') return this.state.waitedS
    return this.state.waitedS + (this.#p.clock.now().monoUs - this.#waitFrom) / 1e6
  }

  #onTimeout(plan: Plan, missing: string): void {
    const celsius = celsiusWords(this.setpointC ?? Number.NaN)
    const waited = duration(this.state.waitS)
    const late = said('not-settled', { celsius, time: waited, missing: missing.replace(/\.$/, '') })
    this.#p.alarms.raise({
      key: `wait-${this.state.step}`,
      kind: 'drift',
      severity: 'warning',
      subject: null,
      said: said('sentence', { words: late }),
    })
    switch (plan.onTimeout) {
      case 'skip':
        this.#book.write(this.#next([...this.state.marks, `${late.words}: skipped`]), [
          { kind: 'plan-step', said: said('late-skipped', { late }) },
        ])
        return
      case 'stop':
        this.#stopSafely(said('late-stops', { late }), 'wait-stop')
        return
      case 'extend':
        if (this.state.extended < MOST_EXTENSIONS) {
          this.#book.write(
            {
              extended: this.state.extended + 1,
              waitS: this.state.waitS + plan.maxWaitS,
              waitedS: this.#waited(),
            },
            [{ kind: 'plan-step', said: said('late-extended', { late }) }],
          )
          return
        }
        break
      case 'take-marked':
        break
    }
    this.#book.write(
      {
        phase: 'measuring',
        marks: [...this.state.marks, `${late.words}: taken and marked`],
        waitedS: this.#waited(),
      },
      [{ kind: 'plan-step', said: said('late-taken', { late }) }],
    )
  }

  async #measuring(signal: AbortSignal): Promise<void> {
    const { plan, bench, taker, watch, recorder } = this.#p
    const { step, takeNow } = this.state
    const setpoint = at(plan.setpoints, step)
    const group = watch.group(recorder.now())
    const settled = takeNow === null && group.state === 'flat'
    const reason = takeNow
      ? `Taken by ${takeNow.who}${takeNow.why.trim() === '' ? '' : `: ${takeNow.why}`}`
      : settled
        ? 'The settling rule held.'
        : `The wait ended: ${group.words}`
    const places = this.#p.guided.places()
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
        ...(places && { places }),
      },
      signal,
    )
    signal.throwIfAborted()
    const doubts = point ? pointDoubts(point, bench, plan) : ['not one reading counted']
    if (doubts.length > 0 && takeNow === null && this.state.retakes < MOST_RETAKES && settled) {
      watch.aim(setpoint.celsius, recorder.now())
      this.#book.write(
        { phase: 'waiting', retakes: this.state.retakes + 1, aimedMonoUs: recorder.now().monoUs },
        [{ kind: 'plan-step', said: said('point-anew', { doubts: doubts.join('; ') }) }],
      )
      return
    }
    const which = setpointSaid(step, setpoint.celsius)
    const marks = [...this.state.marks]
    if (doubts.length > 0) marks.push(`${which.words}: ${doubts.join('; ')}`)
    if (takeNow) marks.push(`${which.words}: taken by ${takeNow.who} before it had settled`)
    const kept: Point[] = point ? [{ ...point, marks: [...point.marks, ...doubts] }] : []
    const guided = await this.#p.guided.after(setpoint, step, signal)
    kept.push(...guided.points)
    marks.push(...guided.marks)
    this.#book.write(
      { ...this.#next(marks), points: [...this.state.points, ...kept.map((p) => p.id)] },
      [
        { kind: 'plan-step', said: takenSaid(which, point !== undefined, doubts.join('; ')) },
        ...guided.events,
      ],
      { points: kept },
    )
  }

  #next(marks: string[]): Partial<RunnerState> {
    const last = this.state.step + 1 >= this.#p.plan.setpoints.length
    return {
      phase: last ? 'finishing' : 'setting',
      step: last ? this.state.step : this.state.step + 1,
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
    if (plan.atEnd === 'safe' && keeper && this.state.part === 'setpoints') {
      recorder.tell({
        kind: 'setpoint',
        said: said('bath-to-safe', { celsius: celsiusWords(bench.bath!.safeC) }),
        data: { celsius: bench.bath!.safeC },
      })
      if (!(await this.#trySafe(signal))) {
        this.#book.writeIfPossible({ marks: [...this.state.marks, this.#unconfirmed()] })
      }
    }
    if (plan.insulationCheck && this.state.part === 'setpoints') {
      const { marks, events } = await this.#p.guided.insulation(signal)
      this.#book.write({ marks: [...this.state.marks, ...marks] }, events)
    }
    if (plan.wtpCheck && this.state.part === 'setpoints') {
      this.#book.write({ part: 'wtp-after', phase: 'checking' }, [
        { kind: 'plan-step', said: said('wtp-follows', {}) },
      ])
      return
    }
    const { marks } = this.state
    const good = marks.length === 0
    const reason = good
      ? plan.setpoints.length === 1
        ? 'The one setpoint was taken, settled.'
        : `All ${plan.setpoints.length} setpoints were taken, settled.`
      : `All setpoints had their turn. ${marks.join('. ')}.`
    this.#end(good ? 'complete' : 'complete-with-marks', reason)
  }

  #unconfirmed(): string {
    return `the bath did not confirm its safe setpoint of ${celsiusWords(this.#p.bench.bath!.safeC)}: go and look`
  }

  async #stopping(signal: AbortSignal): Promise<void> {
    const { keeper, bench, alarms } = this.#p
    const { by, who, reason } = this.state.stopping!
    let account = reason === '' || /[.!?]$/.test(reason) ? reason : `${reason}.`
    if (keeper) {
      const confirmed = await this.#trySafe(signal)
      if (confirmed) account += ` The bath is set to its safe setpoint, ${celsiusWords(bench.bath!.safeC)}.`
      else {
        account += ` And ${this.#unconfirmed()}.`
        alarms.raise({
          key: 'bath-unsafe',
          kind: 'bath',
          severity: 'alarm',
          subject: null,
          said: asTold(account),
        })
      }
    } else if (bench.bath) {
      const bring = said('bring-by-hand', {
        bath: bench.bath.name,
        celsius: celsiusWords(bench.bath.safeC),
      })
      account += ` ${bring.words}`
      alarms.raise({ key: 'bath-by-hand', kind: 'bath', severity: 'alarm', subject: null, said: bring })
    }
    if (by === 'person')
      this.#end(
        'stopped-by-person',
        reason === '' ? `Stopped by ${who}.${account}` : `Stopped by ${who}: ${account}`,
      )
    else this.#end('stopped-safely', account)
  }

  /** Tries the safe setpoint until it is confirmed or patience ends. */
  async #trySafe(signal: AbortSignal): Promise<boolean> {
    const { keeper, clock } = this.#p
    const until = clock.now().monoUs + SAFE_PATIENCE_S * 1e6
    for (;;) {
      this.#safeUnconfirmed = !(await keeper!.toSafe(signal))
      if (!this.#safeUnconfirmed) return true
      signal.throwIfAborted()
      if (clock.now().monoUs >= until) return false
      await clock.sleep(SET_AGAIN_MS, signal)
    }
  }

  #end(ending: NonNullable<RunnerState['ending']>, reason: string): void {
    this.#book.write({ phase: 'ended', ending, endingReason: reason }, [
      { kind: 'plan-step', said: said('plan-ended', { reason }), data: { ending } },
    ])
    this.#p.alarms.raise({
      key: 'plan-end',
      kind: 'plan-end',
      severity: ending === 'complete' ? 'notice' : 'warning',
      subject: null,
      said: said('plan-has-ended', { ending: ENDING_WORDS[ending], reason }),
    })
  }

  #startGuard(): ReferenceGuard | undefined {
    const { keeper } = this.#p
    if (!keeper) return undefined
    return new ReferenceGuard({
      ...this.#p,
      limits: keeper.limits,
      onGuard: () => ['waiting', 'measuring', 'setting'].includes(this.state.phase),
      onTrouble: (why, key) => this.#stopSafely(why, key),
    })
  }
}

/** What a person did to the plan, with the reason where one was given. */
const because = (what: 'paused' | 'stopped' | 'point-taken-now', who: string, why: string): Said =>
  why.trim() === '' ? said(what, { who }) : said(`${what}-because`, { who, why })

const setpointSaid = (step: number, celsius: number): Said =>
  said('setpoint', { n: String(step + 1), celsius: celsiusWords(celsius) })

function takenSaid(setpoint: Said, taken: boolean, doubts: string): Said {
  if (!taken) return said('no-point', { setpoint, doubts })
  return doubts === '' ? said('point-taken', { setpoint }) : said('point-taken-marked', { setpoint, doubts })
}

function untilAborted(signal: AbortSignal): Promise<never> {
  return new Promise((_, reject) => {
    if (signal.aborted) reject(signal.reason)
    else signal.addEventListener('abort', () => reject(signal.reason), { once: true })
  })
}

function isStorageFault(fault: unknown): boolean {
  return fault instanceof StoreError
}
