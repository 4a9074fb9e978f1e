import { needed, at as placed } from '../base/lists.ts'
import { holdsAtZeroCurrent } from '../live/calibration-current.ts'
import { nominalConversion } from '../live/nominal.ts'
import { registeredHeatingMk } from '../live/registered-heating.ts'
import type { Bench, Channel } from '../records/bench.ts'
import { exchangedPlaces, numberOfPlace, ownPlaces } from '../records/places.ts'
import type { Plan } from '../records/plan.ts'
import type { Point, PointChannel } from '../records/point.ts'
import type { Register } from '../records/register.ts'
import type { SessionEvent } from '../records/session.ts'
import type { AnalysisInput, AnalysisOptions } from '../results/analysis.ts'
import { type ChannelRecord, channelRecord, preparedFor } from '../results/analysis-channel.ts'
import { SAME_K } from '../results/hysteresis.ts'
import { mean, median } from '../statistics/centre.ts'
import { type Prepared, prepare } from '../thermometry/convert.ts'
import { WTP_C } from '../thermometry/its90-reference.ts'
import type { EarlierNight } from './earlier-night.ts'
import { type Expected, expectedOf } from './expected.ts'
import { pointOrder } from './orders.ts'

/** What a night is imagined from. */
export interface ImaginedFrom {
  readonly plan: Plan
  readonly bench: Bench
  readonly register: Register
  readonly date: string
  readonly nights: readonly EarlierNight[]
  readonly options: Partial<AnalysisOptions>
}

/** How far the guided lift pulls, mm. */
const LIFT_MM = 20
/** What a tester of insulation shows of a sound thermometer, ohm. */
const SOUND_OHM = 1e9
/** Pairs of currents of one point; see `pairOrder`. */
const PAIRS = 4

interface Hung {
  readonly channel: Channel
  readonly record: ChannelRecord
  readonly conversion: Prepared
  readonly expected: Expected
  /** Readings of it in one point. */
  readonly readings: number
}

type Places = NonNullable<Point['places']>

/** Where an element is, and what the night does to it there. */
interface Standing {
  readonly celsius: number
  /** Each reference where it hangs, degC. */
  readonly references: readonly { readonly channel: string; readonly celsius: number }[]
  readonly withPairs: boolean
  readonly inCell: boolean
}

/**
 * A session as the plan would leave it behind, in which everything is as the register says and as the nights before have shown:
 * every thermometer follows its conversion, readings scatter as they did, hysteresis, stems and places act as they did. Its
 * analysis is that of any session, so that what is foretold comes by the very budget that the report will have.
 */
export function imaginedSession(from: ImaginedFrom): { input: AnalysisInput; without: Channel[] } {
  const { plan, bench, register, date } = from
  const startedUtcUs = Date.parse(`${date}T12:00:00Z`) * 1000
  const setup = { bench, plan, register, profiles: {}, laboratory: NOBODY, job: null }
  const hung: Hung[] = []
  const without: Channel[] = []
  for (const channel of bench.channels) {
    if (!channel.enabled || channel.role === 'monitor') continue
    const record = channelRecord(channel, setup, date)
    if (!record) continue
    const nominal = nominalConversion(record.thermometer)
    const conversion = preparedFor(record) ?? (nominal ? prepare(nominal) : null)
    if (conversion === null) without.push(channel)
    else {
      const expected = expectedOf(channel, record.thermometer, from.nights)
      hung.push({ channel, record, conversion, expected, readings: readingsOf(channel, bench, plan) })
    }
  }
  const night = new ImaginedNight(plan, hung, placesMk(from.nights))
  return {
    without,
    input: {
      info: {
        ...{ id: 'imagined', name: plan.name, kind: 'comparison', operator: '' },
        ...{ startedUtcUs, endedUtcUs: startedUtcUs, ending: 'complete', endingReason: '' },
        ...{ program: '', programVersion: '', note: '' },
      },
      setup,
      points: night.points(),
      events: plan.insulationCheck ? insulations(hung) : [],
      options: { ...from.options, monteCarloTrials: 0, interpolationStepK: 1e4, bandSteps: 0 },
    },
  }
}

const NOBODY = { name: '', address: [], country: 'XX' }

const placesMk = (nights: readonly EarlierNight[]): number =>
  median(nights.flatMap((n) => n.placesMk ?? [])) ?? 0

/** How many readings of a channel make one point. */
function readingsOf(channel: Channel, bench: Bench, plan: Plan): number {
  const lane = bench.channels.filter(
    (c) => c.enabled && c.instrument === channel.instrument && c.role !== 'monitor',
  )
  const of = (isReference: boolean) =>
    lane.filter((c) => (c.role === 'reference') === isReference).map((c) => c.id)
  const stops = pointOrder(plan.order, plan.cycles, of(true), of(false))
  return stops.filter((id) => id === channel.id).length * channel.readings
}

function insulations(hung: readonly Hung[]): SessionEvent[] {
  return hung
    .filter(({ conversion }) => conversion.signal === 'resistance')
    .map(({ channel, expected }, i) => ({
      ...{ n: i + 1, utcUs: 0, monoUs: 0, kind: 'decision', who: '', subject: channel.id, words: '' },
      data: { check: 'insulation', channel: channel.id, ohm: expected.insulationOhm ?? SOUND_OHM },
    }))
}

class ImaginedNight {
  readonly #plan: Plan
  readonly #hung: readonly Hung[]
  readonly #placesMk: number
  readonly #hottest: { readonly step: number; readonly celsius: number }
  readonly #exchanged: readonly number[]

  constructor(plan: Plan, hung: readonly Hung[], changeOfPlacesMk: number) {
    this.#plan = plan
    this.#hung = hung
    this.#placesMk = changeOfPlacesMk
    const celsius = Math.max(...plan.setpoints.map((s) => s.celsius))
    this.#hottest = { celsius, step: plan.setpoints.findIndex((s) => s.celsius === celsius) }
    this.#exchanged = plan.setpoints.filter((s) => s.exchange).map((s) => s.celsius)
  }

  points(): Point[] {
    const { setpoints, wtpCheck } = this.#plan
    let places: Places | null =
      this.#exchanged.length === 0 ? null : ownPlaces(this.#hung.map(({ channel }) => channel.id))
    const inBath = setpoints.flatMap((setpoint, step) => {
      const points = [this.#inBath(step, places, {})]
      if (setpoint.exchange && places) {
        const now = places
        places = exchangedPlaces(now)
        points.push(this.#inBath(step, places, { id: `point-${step + 1}-exchanged` }))
      }
      if (setpoint.lift)
        points.push(
          this.#inBath(step, places, { id: `point-${step + 1}-lifted`, kind: 'lift', liftMm: LIFT_MM }),
        )
      return points
    })
    const reference = this.#hung.find(({ channel }) => channel.role === 'reference')
    if (!wtpCheck || !reference) return inBath
    return [this.#inCell('wtp-before', reference), ...inBath, this.#inCell('wtp-after', reference)]
  }

  #inBath(step: number, places: Places | null, more: Partial<Point>): Point {
    const { celsius, label, selfHeating } = placed(this.#plan.setpoints, step)
    const withPairs = selfHeating && more.kind === undefined && more.id === undefined
    const placeOf = (id: string) => places?.find((p) => p.channel === id)?.place
    const references = this.#hung
      .filter(({ channel }) => channel.role === 'reference')
      .map(({ channel: { id } }) => ({ channel: id, celsius: celsius + this.#placeK(placeOf(id), celsius) }))
    const isDown = step > this.#hottest.step && celsius < this.#hottest.celsius - SAME_K
    const channels = this.#hung.map((one) => {
      const { channel, expected } = one
      const isReference = channel.role === 'reference'
      const memoryMk = isDown && !isReference ? expected.memoryMkPerK * (this.#hottest.celsius - celsius) : 0
      const liftMk = more.kind === 'lift' && !isReference ? expected.liftMk : 0
      const own = celsius + this.#placeK(placeOf(channel.id), celsius) + (memoryMk + liftMk) * 1e-3
      return this.#channel(one, { celsius: own, references, withPairs, inCell: false })
    })
    return {
      ...{ id: `point-${step + 1}`, step, setpointC: celsius, label: label ?? null, kind: 'comparison' },
      ...headOf(this.#plan),
      ...(places && { places }),
      channels,
      ...more,
    }
  }

  #inCell(kind: 'wtp-before' | 'wtp-after', reference: Hung): Point {
    const channels = [
      this.#channel(reference, { celsius: WTP_C, references: [], withPairs: true, inCell: true }),
    ]
    return { id: kind, step: -1, setpointC: WTP_C, label: null, kind, ...headOf(this.#plan), channels }
  }

  /**
   * What has become of a place since the first exchange, K: as far apart as earlier nights found the places to have moved, in
   * proportion to the temperature.
   */
  #placeK(place: string | undefined, celsius: number): number {
    const [first, last] = [this.#exchanged[0], this.#exchanged.at(-1)]
    if (place === undefined || first === undefined || last === undefined || first === last) return 0
    const n = this.#hung.length
    const index = numberOfPlace(place)
    const size = (this.#placesMk * Math.sqrt((n - 1) / n) * (celsius - first)) / (last - first)
    return (index % 2 === 0 ? size : -size) * 1e-3
  }

  #channel({ channel, record, conversion, expected, readings }: Hung, at: Standing): PointChannel {
    const { value: ohm, dValueDInput: slope } = conversion.toSignal(at.celsius)
    const { thermometer, calibration } = record
    const isOhm = conversion.signal === 'resistance'
    // Pairs anywhere in the same medium tell the self-heating of all points there; the register's figure does without them.
    const arePairs = at.inCell || this.#plan.setpoints.some((s) => s.selfHeating)
    const byPairsMk = expected.heating && arePairs && isOhm ? expected.heating.mkPerOhm * ohm : null
    const byRegisterMk = () =>
      registeredHeatingMk(thermometer, channel.currentMa, ohm, (c) => conversion.toSignal(c).value)
    const heatingMk = isOhm ? (byPairsMk ?? byRegisterMk()) : 0
    const pairMk = at.withPairs ? byPairsMk : null
    // A certificate that holds at the measuring current is of the signal as it is measured.
    const atZero = calibration === null || holdsAtZeroCurrent(calibration)
    const signal = atZero ? ohm + slope * heatingMk * 1e-3 : ohm
    const repeated = at.inCell ? (expected.inCell ?? expected.inBath) : expected.inBath
    const n = Math.max(1, readings)
    const u = repeated ? Math.sqrt(repeated.squareMk / n) : 0
    const raw =
      expected.rawUnit === 'ratio' && record.resistor
        ? signal / record.resistor.value.ohm
        : expected.rawUnit === 'V'
          ? signal / 1000
          : signal
    return {
      ...{ channel: channel.id, firstSeq: 1, lastSeq: n, n, leftOut: 0 },
      ...{ rawMean: raw, rawSd: 0, rawUnit: expected.rawUnit, rawDriftPerS: 0, uRawDriftPerS: 0 },
      nEffective: repeated ? Math.max(1, n * repeated.effectivePart) : Number.POSITIVE_INFINITY,
      signal,
      signalZeroCurrent: pairMk === null ? null : signal - slope * heatingMk * 1e-3,
      selfHeatingMk: pairMk,
      uSelfHeatingMk: pairMk === null ? null : Math.sqrt(needed(expected.heating, 'self-heating').squareMk),
      t90C: calibration === null ? null : at.celsius,
      ...{ sdMk: null, driftMkPerMin: expected.driftMkPerMin, uTypeAMk: u },
      referenceC: at.references.length === 0 ? null : mean(at.references.map((r) => r.celsius)),
      ...(at.references.length > 1 && { references: [...at.references] }),
      ...(expected.heldS > 0 && { referenceHeldS: expected.heldS }),
      ...(pairMk !== null && { nPairs: expected.heating?.pairs ?? PAIRS }),
      marks: [],
    }
  }
}

const headOf = ({ order, cycles }: Plan) => ({
  ...{ startUtcUs: 0, endUtcUs: 0, order, cycles, settled: true, reason: '', marks: [] },
})
