import type { Clock } from '../../app/base/clock.ts'
import type { Watch } from '../../app/live/watch.ts'
import { type Said, said } from '../../app/messages/said.ts'
import type { Bench, Channel } from '../../app/records/bench.ts'
import { exchangedPlaces, ownPlaces } from '../../app/records/places.ts'
import type { Plan, Setpoint } from '../../app/records/plan.ts'
import type { Point } from '../../app/records/point.ts'
import type { PointTaker } from './point-taker.ts'
import type { Questions } from './questions.ts'
import type { EventWords, Recorder } from './recorder.ts'

export interface GuidedParts {
  readonly plan: Plan
  readonly bench: Bench
  readonly watch: Watch
  readonly recorder: Recorder
  readonly clock: Clock
  readonly taker: PointTaker
  readonly questions: Questions
}

/** What a guided check brought: points, marks of the night, and what is to be written down. */
export interface GuidedOutcome {
  readonly points: readonly Point[]
  readonly marks: readonly string[]
  readonly events: readonly EventWords[]
}

/** How far thermometers are pulled out of the fluid, mm; common practice, no source. */
const LIFT_MM = 20
const LOOK_MS = 5_000

/** Insulation as a tester shows it: what a person chooses, and the resistance that is certainly there, ohm. */
const INSULATION = {
  'Above 1 GΩ': 1e9,
  '100 MΩ to 1 GΩ': 1e8,
  '10 MΩ to 100 MΩ': 1e7,
  '1 MΩ to 10 MΩ': 1e6,
  '100 kΩ to 1 MΩ': 1e5,
} as const
const LEAVE_OUT = 'Leave it out'

/**
 * What only hands can do in a night: thermometers change places, are lifted, have their insulation measured. The station asks,
 * waits until the bath has settled again, reads the order once more, and keeps what came as points of their own.
 */
export class GuidedChecks {
  readonly #p: GuidedParts

  constructor(parts: GuidedParts) {
    this.#p = parts
  }

  /** Where everybody stands, for the points of a plan in which thermometers change places; null where none do. */
  places(): NonNullable<Point['places']> | null {
    const { plan, recorder } = this.#p
    if (!plan.setpoints.some((s) => s.exchange)) return null
    const last = recorder.file.points().findLast((p) => p.places)?.places
    return last ?? ownPlaces(this.#hung().map((c) => c.id))
  }

  /** The guided checks of a setpoint whose point has just been taken. */
  async after(setpoint: Setpoint, step: number, signal: AbortSignal): Promise<GuidedOutcome> {
    const done: GuidedOutcome[] = []
    let places = this.places()
    if (setpoint.exchange && places) {
      const moved = await this.#exchange(setpoint, step, places, signal)
      done.push(moved.outcome)
      places = moved.places
    }
    if (setpoint.lift) done.push(await this.#lift(setpoint, step, places, signal))
    return {
      points: done.flatMap((d) => d.points),
      marks: done.flatMap((d) => d.marks),
      events: done.flatMap((d) => d.events),
    }
  }

  /** Insulation of every resistance thermometer, as a person reads it off a tester. */
  async insulation(signal: AbortSignal): Promise<GuidedOutcome> {
    const events: EventWords[] = []
    const marks: string[] = []
    for (const channel of this.#hung().filter((c) => c.junction === undefined)) {
      const { choice, who } = await this.#p.questions.ask(
        `Measure the insulation of ${channel.name} between its leads and its sheath with a low-voltage tester, leads off the instrument. What does it show?`,
        [...Object.keys(INSULATION), LEAVE_OUT],
        signal,
      )
      const ohm = INSULATION[choice as keyof typeof INSULATION]
      if (ohm === undefined) {
        marks.push(`the insulation of ${channel.name} was not measured: left out by ${who}`)
        continue
      }
      events.push({
        kind: 'decision',
        who,
        subject: channel.id,
        said: said('insulation', { thermometer: channel.name, shown: choice }),
        data: { check: 'insulation', channel: channel.id, ohm },
      })
    }
    return { points: [], marks, events }
  }

  #hung(): readonly Channel[] {
    return this.#p.bench.channels.filter((c) => c.enabled && c.role !== 'monitor')
  }

  async #exchange(
    setpoint: Setpoint,
    step: number,
    places: NonNullable<Point['places']>,
    signal: AbortSignal,
  ): Promise<{ outcome: GuidedOutcome; places: NonNullable<Point['places']> }> {
    const nameOf = (id: string) => this.#p.bench.channels.find((c) => c.id === id)?.name ?? id
    const next = exchangedPlaces(places)
    const moves = next.map(({ channel, place }) => {
      const there = places.find((p) => p.place === place)!
      return `${nameOf(channel)} to where ${nameOf(there.channel)} is`
    })
    const { choice, who } = await this.#p.questions.ask(
      `Let the thermometers change places, each as deep as before: ${moves.join(', ')}. Say so here. Mind the hot fluid.`,
      ['They have changed places', LEAVE_OUT],
      signal,
    )
    if (choice === LEAVE_OUT) return { outcome: leftOut('exchange-left-out', step, who), places }
    const point = await this.#takeAgain(setpoint, step, signal, {
      id: `point-${step + 1}-exchanged`,
      label: 'exchanged',
      kind: 'comparison',
      places: next,
    })
    return { outcome: outcomeOf(point, who, said('places-changed', {})), places: next }
  }

  async #lift(
    setpoint: Setpoint,
    step: number,
    places: Point['places'] | null,
    signal: AbortSignal,
  ): Promise<GuidedOutcome> {
    const { questions } = this.#p
    const { choice, who } = await questions.ask(
      `Pull every thermometer out of the fluid by ${LIFT_MM} mm, and say so here. Mind the hot fluid.`,
      ['They are lifted', LEAVE_OUT],
      signal,
    )
    if (choice === LEAVE_OUT) return leftOut('lift-left-out', step, who)
    const point = await this.#takeAgain(setpoint, step, signal, {
      id: `point-${step + 1}-lifted`,
      label: `lifted by ${LIFT_MM} mm`,
      kind: 'lift',
      liftMm: LIFT_MM,
      ...(places && { places }),
    })
    await questions.ask(
      'Push the thermometers back to their depth, and say so here.',
      ['They are back'],
      signal,
    )
    return outcomeOf(point, who, said('lifted', { mm: String(LIFT_MM) }))
  }

  /** The order of reading once more, when the bath has settled again or patience ends. */
  async #takeAgain(
    setpoint: Setpoint,
    step: number,
    signal: AbortSignal,
    head: Pick<Point, 'id' | 'label' | 'kind'> & Partial<Pick<Point, 'places' | 'liftMm'>>,
  ): Promise<Point | undefined> {
    const { clock, watch, recorder, plan, taker } = this.#p
    watch.aim(setpoint.celsius, recorder.now())
    const until = clock.now().monoUs + plan.maxWaitS * 1e6
    let settled = false
    while (!settled && clock.now().monoUs < until) {
      await clock.sleep(LOOK_MS, signal)
      settled = watch.group(recorder.now()).state === 'flat'
    }
    return taker.take(
      { order: plan.order, cycles: plan.cycles, selfHeating: false },
      {
        ...head,
        step,
        setpointC: setpoint.celsius,
        settled,
        reason: settled ? 'The settling rule held.' : 'The wait ended.',
        marks: settled ? [] : ['not settled'],
      },
      signal,
    )
  }
}

function leftOut(what: 'exchange-left-out' | 'lift-left-out', step: number, who: string): GuidedOutcome {
  const left = said(what, { n: String(step + 1), who })
  const sentence = said('sentence', { words: left })
  return { points: [], marks: [left.words], events: [{ kind: 'decision', who, said: sentence }] }
}

function outcomeOf(point: Point | undefined, who: string, done: Said): GuidedOutcome {
  if (!point) return { points: [], marks: ['not one reading of a guided check counted'], events: [] }
  return { points: [point], marks: [], events: [{ kind: 'decision', who, said: done }] }
}
