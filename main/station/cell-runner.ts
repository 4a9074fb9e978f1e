import type { Clock } from '../../app/base/clock.ts'
import { duration } from '../../app/base/times.ts'
import { valueOfPlateau } from '../../app/checks/answer-check.ts'
import { withCell } from '../../app/checks/cell-said.ts'
import { type SequenceStep, sequenceState, type TakenPlateau } from '../../app/checks/cell-sequence.ts'
import { calibrateByFixedPoints } from '../../app/checks/fixed-point-calibration.ts'
import { type CellRecord, plateauOfRecord, type SessionPlateau } from '../../app/checks/fixed-point-record.ts'
import { isOnPlateau } from '../../app/checks/plateau-progress.ts'
import { CheckRequest } from '../../app/contract/check-request.ts'
import { celsiusWords } from '../../app/live/words.ts'
import { type Said, said } from '../../app/messages/said.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { CellPlan } from '../../app/records/cell-plan.ts'
import type { Register } from '../../app/records/register.ts'
import { ComparisonError } from '../../app/results/uncertainty-error.ts'
import { StoreError } from '../store/errors.ts'
import { cellRecordIn } from './cell-record.ts'
import type { CellState, TakenCell } from './cell-state.ts'
import type { Answer, Questions } from './questions.ts'
import type { EventWords, Recorder } from './recorder.ts'

/** One step of a sequence, as a view tells it. */
export interface CellStep {
  readonly fixedPoint: TakenCell['fixedPoint']
  readonly state: 'taken' | 'next' | 'later'
  readonly taken: TakenCell | null
  readonly moved: SequenceStep['moved']
}

export interface CellRunnerParts {
  readonly plan: CellPlan
  readonly bench: Bench
  readonly register: Register
  readonly clock: Clock
  readonly recorder: Recorder
  readonly questions: Questions
  /** Waits until what the bench needs is identified; names what is not. */
  readonly ready: (signal: AbortSignal) => Promise<string | undefined>
  readonly onChange: () => void
}

/** How often the record of a cell is looked at for its plateau. */
const LOOK_MS = 60_000
const AGAIN_MS = 5_000

/** What a person answers who has put the thermometer into the cell that was asked for. */
export const IN_CELL = 'It is in the cell'
const TAKE = 'Take the plateau'
const AGAIN = 'Begin this cell again'
const LEAVE_OUT = 'Leave this cell out'
const END = 'Stop the sequence'
const WATER_AGAIN = 'Take the water triple point again'
const GO_ON = 'Go on as it is'

/** What two plateaus of one cell do not share, by the names of the budget. */
const OWN: ReadonlySet<string> = new Set([
  'Repeatability',
  'Slope of the plateau',
  'Self-heating',
  "Resistor's temperature",
])

/**
 * Leads a thermometer through a sequence of cells: asks for the next cell, waits for the person, finds the plateau while it
 * happens and says how it stands, compares R(0.01 degC) from one water to the next, repeats what is asked for, and ends in the
 * coefficients. What it decides is stored before it is acted upon, so that a restart goes on in the same cell.
 */
export class CellRunner {
  readonly #p: CellRunnerParts
  readonly #letGo = new AbortController()
  readonly #stop = new AbortController()
  #state: CellState
  #running: Promise<void> | undefined
  #stopped: { who: string; why: string } | undefined
  /** How the plateau of this step stands, in words. */
  #progress = ''

  constructor(parts: CellRunnerParts, state: CellState) {
    this.#p = parts
    this.#state = state
  }

  get state(): CellState {
    return this.#state
  }

  /** Each step of the plan: its plateau where one was taken, and how far R(0.01 degC) moved to it. */
  get steps(): readonly CellStep[] {
    const { step, phase, taken } = this.#state
    return this.#p.plan.steps.map(({ fixedPoint }, i) => ({
      fixedPoint,
      state: i < step || phase === 'ended' ? 'taken' : i === step ? 'next' : 'later',
      taken: taken.find((t) => t.step === i) ?? null,
      moved: movedTo(i, taken),
    }))
  }

  get progress(): string {
    return this.#progress
  }

  get words(): string {
    const { phase, step } = this.#state
    const at = `Step ${step + 1} of ${this.#p.plan.steps.length}, ${this.#cell().words}`
    switch (phase) {
      case 'opening':
        return 'Opening the links and identifying the instruments.'
      case 'asking':
        return `${at}: waiting for the thermometer.`
      case 'watching':
        return `${at}: ${this.#progress || 'no plateau yet.'}`
      case 'moved':
        return `${at}: R(0.01 °C) has moved.`
      default:
        return `Ended: ${this.#state.endingReason ?? ''}`
    }
  }

  start(): Promise<void> {
    this.#running ??= this.#run()
    return this.#running
  }

  /** Lets go without ending the sequence, for the next one who opens the session. */
  async detach(): Promise<void> {
    this.#letGo.abort(new Error('the station lets go'))
    await this.#running
  }

  stop(who: string, why: string): void {
    this.#stopped = { who, why }
    this.#stop.abort(new Error('the sequence is stopped'))
  }

  async #run(): Promise<void> {
    while (this.#state.phase !== 'ended' && !this.#letGo.signal.aborted) {
      if (this.#stopped) {
        this.#endBy(this.#stopped.who, this.#stopped.why)
        continue
      }
      try {
        await this.#act(AbortSignal.any([this.#letGo.signal, this.#stop.signal]))
      } catch (fault) {
        if (this.#letGo.signal.aborted || this.#stop.signal.aborted) continue
        // What could not be stored was not acted upon; the recorder tries the disk again by itself.
        if (!(fault instanceof StoreError)) throw fault
        await this.#p.clock.sleep(AGAIN_MS)
      }
    }
  }

  #act(signal: AbortSignal): Promise<void> {
    switch (this.#state.phase) {
      case 'opening':
        return this.#opening(signal)
      case 'asking':
        return this.#asking(signal)
      case 'watching':
        return this.#watching(signal)
      case 'moved':
        return this.#moved(signal)
      case 'ended':
        return Promise.resolve()
    }
  }

  #write(change: Partial<CellState>, events: readonly EventWords[] = []): void {
    const next = { ...this.#state, ...change }
    const { step, phase } = next
    const { recorder } = this.#p
    recorder.commit({
      events: events.map((e) => recorder.event({ ...e, data: { ...e.data, cellStep: step, phase } })),
      runner: next,
    })
    this.#state = next
    this.#p.onChange()
  }

  #cell(step = this.#state.step): Said {
    const { fixedPoint } = this.#p.plan.steps[Math.min(step, this.#p.plan.steps.length - 1)]!
    return fixedPoint === 'H2O' ? said('cell-wtp', {}) : said('cell-of', { point: fixedPoint })
  }

  get #thermometer(): string {
    return this.#p.bench.channels.find(({ id }) => id === this.#p.plan.channel)?.name ?? this.#p.plan.channel
  }

  async #opening(signal: AbortSignal): Promise<void> {
    const missing = await this.#p.ready(signal)
    if (missing !== undefined)
      this.#end('stopped-safely', missing, said('instruments-missing', { words: missing }))
    else
      this.#write({ phase: this.#state.inCellUtcUs === null ? 'asking' : 'watching' }, [
        { kind: 'plan-step', said: said('instruments-identified', {}) },
      ])
  }

  async #asking(signal: AbortSignal): Promise<void> {
    const { step } = this.#state
    const { plan, recorder, questions } = this.#p
    const cell = this.#cell()
    const { choice, who } = await questions.ask(
      `Next: ${cell.words}, step ${step + 1} of ${plan.steps.length}. Put ${this.#thermometer} into it, bring it to its plateau as your procedure says, and say so here. Furnaces and thermometers out of them burn.`,
      [IN_CELL, LEAVE_OUT, END],
      signal,
    )
    if (choice === END) return this.#endBy(who, '')
    if (choice === LEAVE_OUT) return this.#leaveOut(who)
    const told = said('cell-in', {
      ...{ who, thermometer: this.#thermometer, cell },
      ...{ n: String(step + 1), count: String(plan.steps.length) },
    })
    this.#progress = ''
    this.#write({ phase: 'watching', inCellUtcUs: recorder.now().utcUs, told: 'nothing' }, [
      { kind: 'plan-step', who, subject: plan.channel, said: told },
    ])
  }

  /** The plateau is looked for until a person takes it, begins again, leaves it out or ends. */
  async #watching(signal: AbortSignal): Promise<void> {
    const { plan, questions } = this.#p
    const cell = this.#cell()
    const answered = new AbortController()
    const question = questions.ask(
      `${this.#thermometer} is in ${cell.words}. Take its plateau when it has lasted ${duration(plan.leastS)} or longer.`,
      [TAKE, AGAIN, LEAVE_OUT, END],
      signal,
    )
    const looking = this.#lookOn(AbortSignal.any([signal, answered.signal]))
    let answer: Answer
    try {
      answer = await Promise.race([question, looking.then(() => question)])
    } finally {
      answered.abort(new Error('answered'))
      await looking.catch(() => undefined)
    }
    const { choice, who } = answer
    if (choice === END) return this.#endBy(who, '')
    if (choice === LEAVE_OUT) return this.#leaveOut(who)
    if (choice === AGAIN) {
      this.#write({ phase: 'asking', inCellUtcUs: null, told: 'nothing' }, [
        { kind: 'decision', who, said: said('cell-again', { who, cell }) },
      ])
      return
    }
    this.#take(who)
  }

  async #lookOn(signal: AbortSignal): Promise<void> {
    const { clock } = this.#p
    while (!signal.aborted) {
      this.#lookNow()
      try {
        await clock.sleep(LOOK_MS, signal)
      } catch {
        return
      }
    }
  }

  /** Finds the plateau in what has been recorded of this cell, and says where it stands. Throws what plateauOfRecord throws. */
  #plateau(): { plateau: SessionPlateau; record: CellRecord } {
    const { plan, recorder, register } = this.#p
    const { fixedPoint, cell } = plan.steps[this.#state.step]!
    const fromUtcUs = this.#state.inCellUtcUs ?? 0
    const record = cellRecordIn(recorder.file, { channel: plan.channel, fromUtcUs })
    if (record.readings.length === 0)
      throw new ComparisonError('no-plateau', said('no-reading-in-cell', {}), { channel: plan.channel })
    const about = withCell({ fixedPoint, ...(cell !== undefined && { cell }) }, register.cells ?? [])
    return { plateau: plateauOfRecord(record, about, this.#rWtp()), record }
  }

  #lookNow(): void {
    const cell = this.#cell()
    try {
      const { plateau, record } = this.#plateau()
      const how = {
        ...{ cell, length: duration(plateau.plateau.toS - plateau.plateau.fromS) },
        slope: slopeWords(plateau.plateau.driftMkPerHour),
      }
      const lastS = (record.readings.at(-1)?.monoUs ?? 0) / 1e6
      const state = isOnPlateau(plateau.plateau, lastS) ? 'on' : 'over'
      const told = said(state === 'on' ? 'plateau-on' : 'plateau-over', how)
      this.#progress = told.words
      if (this.#state.told !== state)
        this.#write({ told: state }, [
          {
            kind: 'plan-step',
            subject: this.#p.plan.channel,
            said: told,
            data: { cell: this.#facts(plateau) },
          },
        ])
    } catch (fault) {
      if (!(fault instanceof ComparisonError)) throw fault
      this.#progress = fault.message
    }
    this.#p.onChange()
  }

  #facts({ plateau, used }: SessionPlateau) {
    const { fromS, toS, driftMkPerHour, kind } = plateau
    return { kind, lengthS: toS - fromS, driftMkPerHour, used }
  }

  /** The plateau as it is to be taken, or why there is none to take yet. */
  #toTake(): SessionPlateau | Said {
    const cell = this.#cell()
    const { leastS } = this.#p.plan
    try {
      const { plateau } = this.#plateau()
      const lengthS = plateau.plateau.toS - plateau.plateau.fromS
      if (lengthS >= leastS) return plateau
      return said('plateau-short', { cell, length: duration(lengthS), least: duration(leastS) })
    } catch (fault) {
      if (!(fault instanceof ComparisonError)) throw fault
      return said('plateau-none', { cell, why: fault.message })
    }
  }

  #take(who: string): void {
    const { plan } = this.#p
    const { step } = this.#state
    const cell = this.#cell()
    const found = this.#toTake()
    if ('words' in found) {
      this.#progress = found.words
      this.#write({}, [{ kind: 'plan-step', who, said: found }])
      return
    }
    const { used, value, request } = found
    const { cell: named, fixedPoint } = plan.steps[step]!
    const taken: TakenCell = {
      ...{ step, fixedPoint, fromUtcUs: used.fromUtcUs, toUtcUs: used.toUtcUs },
      ...{ ohm: value.ohm, t90C: value.t90C, ohmPerKelvin: request.ohmPerKelvin },
      ownUMk: Math.hypot(...value.components.filter((c) => OWN.has(c.name)).map((c) => c.uMk)),
      request: {
        ...request,
        ...(named !== undefined && { cell: named }),
        utc: new Date((used.fromUtcUs + used.toUtcUs) / 2000).toISOString(),
      },
    }
    const told = said('plateau-taken', {
      ...{ cell, who, ohm: value.ohm.toFixed(6), celsius: celsiusWords(value.t90C) },
      ...{ u: value.uMk.toFixed(2), length: duration(found.plateau.toS - found.plateau.fromS) },
    })
    const all = [...this.#state.taken.filter((t) => t.step !== step), taken]
    const moved = movedTo(step, all)
    const events: EventWords[] = [
      { kind: 'decision', who, subject: plan.channel, said: told, data: { cell: taken } },
    ]
    if (moved) {
      const figures = { mk: moved.mk.toFixed(3), U: moved.expandedMk.toFixed(3) }
      const judged = said(moved.agrees ? 'wtp-stayed' : 'wtp-went', figures)
      events.push({ kind: 'plan-step', said: judged, data: { moved } })
    }
    if (moved && !moved.agrees) this.#write({ phase: 'moved', taken: all }, events)
    else this.#goOn({ taken: all }, events)
  }

  async #moved(signal: AbortSignal): Promise<void> {
    const { step, marks } = this.#state
    const moved = movedTo(step, this.#state.taken)
    const { choice, who } = await this.#p.questions.ask(
      `R(0.01 °C) has moved by ${moved?.mk.toFixed(2) ?? ''} mK, U ${moved?.expandedMk.toFixed(2) ?? ''} mK. Take the water triple point again; where it stays, let the thermometer rest or anneal it as its maker says.`,
      [WATER_AGAIN, GO_ON, END],
      signal,
    )
    if (choice === END) return this.#endBy(who, '')
    if (choice === WATER_AGAIN) {
      const again = said('cell-again', { who, cell: this.#cell() })
      this.#write({ phase: 'asking', inCellUtcUs: null, told: 'nothing' }, [
        { kind: 'decision', who, said: again },
      ])
      return
    }
    const kept = said('wtp-kept', { who })
    this.#goOn({ marks: [...marks, `R(0.01 °C) moved before step ${step + 1}: ${kept.words}`] }, [
      { kind: 'decision', who, said: said('sentence', { words: kept }) },
    ])
  }

  #leaveOut(who: string): void {
    const { step, marks } = this.#state
    const left = said('cell-left-out', { n: String(step + 1), cell: this.#cell(), who })
    this.#goOn({ marks: [...marks, left.words] }, [
      { kind: 'decision', who, said: said('sentence', { words: left }) },
    ])
  }

  #goOn(change: Partial<CellState>, events: readonly EventWords[]): void {
    const next = this.#state.step + 1
    this.#progress = ''
    if (next < this.#p.plan.steps.length) {
      this.#write({ ...change, step: next, phase: 'asking', inCellUtcUs: null, told: 'nothing' }, events)
      return
    }
    this.#write(change, events)
    this.#conclude()
  }

  /** Coefficients of what was taken, with their covariance, and the end. */
  #conclude(): void {
    const { marks, taken } = this.#state
    const { plan } = this.#p
    try {
      const request = CheckRequest.parse({
        check: 'fixed-points',
        plateaus: taken.toSorted((a, b) => a.step - b.step).map((t) => t.request),
        ...(plan.subrange !== undefined && { subrange: plan.subrange }),
      })
      if (request.check !== 'fixed-points') return
      const found = calibrateByFixedPoints(request.plateaus.map(valueOfPlateau), undefined, plan.subrange)
      const { conversion } = found.fit
      const told = said('cells-coefficients', {
        coefficients: found.coefficients
          .filter(({ name }) => name !== 'rWtp')
          .map(
            ({ name, value, expanded }) =>
              `${name} = ${value.toExponential(5)}, U ${expanded.toExponential(1)}`,
          )
          .join('; '),
        subrange: conversion.kind === 'its90' ? (conversion.subrange ?? '') : '',
        ohm: found.rWtp.toFixed(6),
      })
      const { coefficients, covariance, consistency } = found
      const data = { request, conversion, coefficients, covariance, consistency }
      this.#end(
        marks.length === 0 ? 'complete' : 'complete-with-marks',
        endWords(told.words, marks),
        told,
        data,
      )
    } catch (fault) {
      if (fault instanceof StoreError) throw fault
      const why = fault instanceof Error ? fault.message : String(fault)
      const told = said('cells-undetermined', { why })
      this.#end('complete-with-marks', endWords(told.words, marks), told)
    }
  }

  #endBy(who: string, why: string): void {
    const words = why.trim() === '' ? `Stopped by ${who}.` : `Stopped by ${who}: ${why}`
    this.#end('stopped-by-person', words, said('cells-ended-by', { who }))
  }

  #end(
    ending: NonNullable<CellState['ending']>,
    reason: string,
    told: Said,
    data: Record<string, unknown> = {},
  ): void {
    this.#write({ phase: 'ended', ending, endingReason: reason }, [
      { kind: 'plan-step', said: told, data: { ...data, ending } },
    ])
  }

  /** R at 0.01 degC from the water plateaus taken so far, for W of the others. */
  #rWtp(): number | undefined {
    const water = this.#state.taken.filter(({ fixedPoint }) => fixedPoint === 'H2O')
    if (water.length === 0) return undefined
    const at = water.map(({ ohm, t90C, ohmPerKelvin }) => ohm - ohmPerKelvin * (t90C - 0.01))
    return at.reduce((sum, v) => sum + v, 0) / at.length
  }
}

/** How far R(0.01 degC) has moved from one water taken to that of a step, mK with U; null for the first and for other cells. */
function movedTo(step: number, all: readonly TakenCell[]): SequenceStep['moved'] {
  const taken = all.toSorted((a, b) => a.step - b.step)
  const order = taken.map(({ fixedPoint }) => fixedPoint)
  const at = taken.findIndex((t) => t.step === step)
  return sequenceState(order, taken.map(asTaken)).steps[at]?.moved ?? null
}

const asTaken = ({ fixedPoint, fromUtcUs, toUtcUs, ohm, ownUMk }: TakenCell): TakenPlateau => ({
  fixedPoint,
  utcMs: (fromUtcUs + toUtcUs) / 2000,
  ohm,
  ownUMk,
})

const endWords = (words: string, marks: readonly string[]): string =>
  marks.length === 0 ? words : `${words} ${marks.join('. ')}.`

const slopeWords = (mkPerHour: number): string => `${mkPerHour >= 0 ? '+' : ''}${mkPerHour.toFixed(2)} mK/h`
