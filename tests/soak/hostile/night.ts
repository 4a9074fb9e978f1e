import { buildChains, type Chain } from '../../../app/live/chain.ts'
import { buildPoint, type PointHead } from '../../../app/live/point.ts'
import {
  CURRENT_SETTLE_S,
  companionOf,
  PAIR_READINGS,
  type PairStop,
  pairOrder,
  pointOrder,
} from '../../../app/plan/orders.ts'
import type { Bench, Channel } from '../../../app/records/bench.ts'
import { Plan } from '../../../app/records/plan.ts'
import type { Point } from '../../../app/records/point.ts'
import type { Reading } from '../../../app/records/reading.ts'
import type { Register } from '../../../app/records/register.ts'
import { SessionInfo, SessionSetup } from '../../../app/records/session.ts'
import type { AnalysisInput } from '../../../app/results/analysis.ts'
import type { HostileCase } from '../../../simulator/hostile/cases.ts'
import { drawHostility } from '../../../simulator/hostile/hostility.ts'
import { QuickLab } from '../../../simulator/hostile/quick-lab.ts'
import { randomStream } from '../../../simulator/physics/randomness.ts'
import { kinds } from '../../../simulator/scenarios/kinds.ts'

export const EVENING_US = Date.UTC(2026, 2, 1, 18) * 1000
const SETPOINTS = [15, 35, 55, 75, 95]
const CYCLES = 3
/** Seconds of one reading that an instrument does not average. */
const ONE_READING_S = { bridge: 0.5, meter: 0.2 } as const
/** Seconds from one setpoint to the next, and after thermometers were moved. */
const TRAVEL_S = 2400
const MOVED_S = 900

/** What a person does in a night beside waiting; a night may leave one of them out. */
export const GUIDED = ['wtp', 'exchange', 'lift', 'first-again', 'insulation', 'pairs'] as const
export type Guided = (typeof GUIDED)[number]

export interface NightChoices {
  readonly kind: HostileCase
  readonly order: Plan['order']
  readonly seed: number
  /** What is left out of the guided checks. */
  readonly without?: Guided
  readonly references?: 1 | 2
  /** Where they are not the usual ones: rising, degC; how often the order is run through. */
  readonly setpoints?: readonly number[]
  readonly cycles?: number
  /** The laboratory of an evening before, instead of one of the seed. */
  readonly lab?: QuickLab
}

export interface QuickNight {
  readonly input: AnalysisInput
  readonly lab: QuickLab
}

/** A night of the quick lab as the station would run it: its points and its record, without a wire. */
export function quickNight(choices: NightChoices): QuickNight {
  return new Night(choices).run()
}

class Night {
  readonly #choices: NightChoices
  readonly #lab: QuickLab
  readonly #bench: Bench
  readonly #register: Register
  readonly #chains: ReadonlyMap<string, Chain>
  readonly #points: Point[] = []
  readonly #events: AnalysisInput['events'][number][] = []
  readonly #startS: number
  readonly #setpoints: readonly number[]
  readonly #cycles: number
  #seq = 0

  constructor(choices: NightChoices) {
    this.#choices = choices
    const { kind, seed, references = kind === 'references-disagree' ? 2 : 1 } = choices
    const scenario = kinds
    const hostility = drawHostility(kind, seed, scenario.thermometers, scenario.bench.uniformityMk / 1000)
    this.#lab = choices.lab ?? new QuickLab({ scenario, seed, hostility, startUtcUs: EVENING_US })
    if (choices.lab) this.#lab.nextEvening()
    this.#startS = this.#lab.seconds
    this.#setpoints = choices.setpoints ?? SETPOINTS
    this.#cycles = choices.cycles ?? CYCLES
    this.#bench = {
      ...this.#lab.bench,
      channels: this.#lab.bench.channels.filter((c) => references === 2 || c.id !== 'ref-b'),
    }
    this.#register = this.#lab.paperwork
    this.#chains = buildChains({ bench: this.#bench, register: this.#register, date: '2026-03-01' })
  }

  run(): QuickNight {
    const does = (what: Guided) => this.#choices.without !== what
    if (does('wtp')) this.#wtp('wtp-before')
    this.#setpoints.forEach((celsius, step) => {
      this.#lab.seconds += TRAVEL_S
      this.#lab.set(celsius)
      const isEnd = step === 0 || step === this.#setpoints.length - 1
      this.#comparison(`p${step + 1}`, step, celsius, null, isEnd && does('pairs'))
      if (isEnd && does('exchange')) {
        this.#exchange(step !== 0)
        this.#comparison(`p${step + 1}-exchanged`, step, celsius, 'exchanged', false)
      }
      if (step === this.#setpoints.length - 1 && does('lift')) this.#lift(step, celsius)
    })
    if (does('first-again')) {
      this.#lab.seconds += 2 * TRAVEL_S
      this.#lab.set(this.#setpoints[0]!)
      this.#comparison('p6', this.#setpoints.length, this.#setpoints[0]!, 'again', false)
    }
    if (does('wtp')) this.#wtp('wtp-after')
    if (does('insulation')) this.#insulation()
    return { lab: this.#lab, input: this.#input() }
  }

  #onBath(): readonly Channel[] {
    return this.#bench.channels
  }

  #head(
    id: string,
    step: number,
    setpointC: number,
    label: string | null,
  ): Omit<PointHead, 'order' | 'cycles' | 'kind'> {
    return {
      id,
      step,
      setpointC,
      label,
      settled: true,
      reason: 'settled',
      marks: [],
      readings: [],
      places: this.#onBath().map((c) => ({ channel: c.id, place: this.#lab.placeOf.get(c.thermometer!)! })),
    }
  }

  #comparison(id: string, step: number, celsius: number, label: string | null, withPairs: boolean): void {
    const { order } = this.#choices
    const readings = this.#readInOrder(this.#onBath())
    const pairs = withPairs ? this.#pairs(this.#onBath()) : []
    this.#points.push(
      this.#built(readings, pairs, {
        ...this.#head(id, step, celsius, label),
        kind: 'comparison',
        order,
        cycles: this.#cycles,
      }),
    )
  }

  #built(readings: readonly Reading[], pairs: readonly Reading[], head: PointHead): Point {
    const source = { bench: this.#bench, chains: this.#chains, readings, ...(pairs.length > 0 && { pairs }) }
    return buildPoint(source, head)
  }

  /** Thermometers change places by one, and back again the second time. */
  #exchange(back: boolean): void {
    const ids = this.#onBath().map((c) => c.thermometer!)
    for (const [i, id] of ids.entries()) this.#lab.placeOf.set(id, back ? id : ids[(i + 1) % ids.length]!)
    this.#lab.seconds += MOVED_S
  }

  #lift(step: number, celsius: number): void {
    this.#lab.liftMm = 20
    this.#lab.seconds += MOVED_S
    const readings = this.#readInOrder(this.#onBath())
    this.#lab.liftMm = 0
    this.#points.push(
      this.#built(readings, [], {
        ...this.#head('lift', step, celsius, 'lifted by 20 mm'),
        kind: 'lift',
        order: this.#choices.order,
        cycles: this.#cycles,
        liftMm: 20,
      }),
    )
  }

  #wtp(kind: 'wtp-before' | 'wtp-after'): void {
    const references = this.#bench.channels.filter((c) => c.role === 'reference')
    for (const channel of references) {
      this.#lab.seconds += MOVED_S
      this.#lab.inCell.add(channel.thermometer!)
      const readings = this.#readInOrder([channel])
      const pairs = this.#pairs([channel])
      this.#lab.inCell.delete(channel.thermometer!)
      const id = references.length > 1 ? `${kind}-${channel.id}` : kind
      const { places: _, ...head } = this.#head(id, -1, 0.01, null)
      this.#points.push(this.#built(readings, pairs, { ...head, kind, order: 'S', cycles: this.#cycles }))
    }
  }

  #insulation(): void {
    for (const channel of this.#onBath()) {
      this.#events.push({
        n: this.#events.length + 1,
        utcUs: EVENING_US + Math.round(this.#lab.seconds * 1e6),
        monoUs: Math.round(this.#lab.seconds * 1e6),
        kind: 'decision',
        who: 'B. Wend',
        subject: channel.id,
        words: `Insulation of ${channel.name} measured.`,
        data: {
          check: 'insulation',
          channel: channel.id,
          ohm: this.#lab.insulationOhm(channel.thermometer!),
        },
      })
    }
  }

  /**
   * All lanes at once, each in its order; readings in the order of time. As at the station, a lane that is done reads on until the
   * slowest is: its references, or where it has none what its scan reads.
   */
  #readInOrder(channels: readonly Channel[]): Reading[] {
    const { order } = this.#choices
    const runs = [...new Set(channels.map((c) => c.instrument))].map((lane) => {
      const own = channels.filter((c) => c.instrument === lane)
      const reference = own.filter((c) => c.role === 'reference').map((c) => c.id)
      const others = own.filter((c) => c.role !== 'reference').map((c) => c.id)
      const run = new LaneRun(own, this.#lab.seconds)
      run.through(pointOrder(order, this.#cycles, reference, others))
      return { run, onward: reference.length > 0 ? reference : others }
    })
    const end = Math.max(...runs.map(({ run }) => run.at))
    for (const { run, onward } of runs) while (run.at < end) run.through(onward)
    const asked = runs.flatMap(({ run }) => run.asked).filter(({ timeS }) => timeS <= end)
    asked.sort((a, b) => a.timeS - b.timeS)
    return asked.map(({ timeS, channel }) => this.#reading(timeS, channel, 1))
  }

  #pairs(channels: readonly Channel[]): Reading[] {
    const readings: Reading[] = []
    const warmed = channels.filter((c) => c.junction === undefined)
    let at = this.#lab.seconds
    for (const channel of warmed) {
      const companion = companionOf(channel.id, warmed)
      for (const stop of pairOrder(channel.id, companion)) {
        const own = this.#bench.channels.find((c) => c.id === stop.channel)!
        at += stop.currentFactor === undefined ? own.settleMs / 1000 : CURRENT_SETTLE_S
        for (let i = 0; i < readingsAt(stop, own); i++) {
          at += readingS(own)
          readings.push(this.#reading(at, own, stop.currentFactor ?? 1))
        }
      }
    }
    return readings
  }

  #reading(timeS: number, channel: Channel, factor: number): Reading {
    this.#lab.seconds = timeS
    const { value, unit, currentMa } = this.#lab.measure(channel.id, factor)
    this.#seq += 1
    const monoUs = Math.round(timeS * 1e6)
    return {
      seq: this.#seq,
      channel: channel.id,
      utcUs: EVENING_US + monoUs,
      monoUs,
      raw: value,
      value,
      unit,
      marks: [],
      currentMa,
    }
  }

  #input(): AnalysisInput {
    const endUs = EVENING_US + Math.round(this.#lab.seconds * 1e6)
    const { kind, seed, order } = this.#choices
    return {
      info: SessionInfo.parse({
        id: `hostile-${kind}-${order}-${seed}${this.#startS > 0 ? `-${Math.round(this.#startS)}` : ''}`,
        name: kind,
        kind: 'comparison',
        operator: 'Soak',
        startedUtcUs: EVENING_US + Math.round(this.#startS * 1e6),
        endedUtcUs: endUs,
        ending: 'complete',
        endingReason: '',
        program: 'Stillpoint',
        programVersion: '0',
        note: '',
      }),
      setup: SessionSetup.parse({
        bench: this.#bench,
        plan: planOf(this.#choices),
        register: this.#register,
        profiles: {},
        laboratory: { name: 'Quennick Temperature Laboratory', address: [], country: 'IE' },
        job: null,
      }),
      points: this.#points,
      events: this.#events,
    }
  }
}

/** The readings of one lane, each at its moment. */
class LaneRun {
  readonly asked: { readonly timeS: number; readonly channel: Channel }[] = []
  readonly #own: readonly Channel[]
  #before = ''
  at: number

  constructor(own: readonly Channel[], startS: number) {
    this.#own = own
    this.at = startS
  }

  through(stops: readonly string[]): void {
    for (const id of stops) {
      const channel = this.#own.find((c) => c.id === id)!
      if (this.#before !== id) this.at += channel.settleMs / 1000
      this.#before = id
      for (let i = 0; i < channel.readings; i++) {
        this.at += readingS(channel)
        this.asked.push({ timeS: this.at, channel })
      }
    }
  }
}

/** What the station would be told of such a night. */
export function planOf({ order, setpoints = SETPOINTS, cycles = CYCLES, without }: NightChoices): Plan {
  const does = (what: Guided) => without !== what
  const last = setpoints.length - 1
  const stops = setpoints.map((celsius, i) => ({
    celsius,
    selfHeating: (i === 0 || i === last) && does('pairs'),
    ...((i === 0 || i === last) && does('exchange') && { exchange: true }),
    ...(i === last && does('lift') && { lift: true }),
  }))
  return Plan.parse({
    id: 'hostile',
    name: 'Hostile night',
    setpoints: does('first-again') ? [...stops, { celsius: setpoints[0]! }] : stops,
    settling: { windowS: 600, driftMkPerMin: 2, spreadMk: 6, bandK: 0.2, holdS: 300 },
    order,
    cycles,
    wtpCheck: does('wtp'),
    ...(does('insulation') && { insulationCheck: true }),
  })
}

const isMeter = (channel: Channel) => channel.instrument === 'meter'
const readingS = (channel: Channel) =>
  channel.average * (isMeter(channel) ? ONE_READING_S.meter : ONE_READING_S.bridge)
const readingsAt = (stop: PairStop, channel: Channel) =>
  stop.currentFactor === undefined ? channel.readings : PAIR_READINGS

/** The check that one night in seven leaves out, drawn from its seed; undefined: none. */
export function leftOutOf(seed: number): Guided | undefined {
  const random = randomStream(seed, 'guided')
  return random.uniform() < 1 / 7 ? GUIDED[random.integer(GUIDED.length)] : undefined
}
