import { buildChains } from '../../app/live/chain.ts'
import { buildPoint } from '../../app/live/point.ts'
import { readingOrder } from '../../app/plan/orders.ts'
import type { Plan } from '../../app/records/plan.ts'
import type { Point } from '../../app/records/point.ts'
import type { Reading } from '../../app/records/reading.ts'
import { analyse } from '../../app/results/analysis.ts'
import { seededRandom } from '../../app/statistics/random.ts'
import { prepare } from '../../app/thermometry/convert.ts'
import { type Simulation, type SimulationChoices, simulate } from './fixture.ts'

/**
 * Nights of an invented comparison whose truth is known: how often it lies within U. Drawn from the errors that the records
 * declare, for each kind of thermometer and each order of reading.
 */

const LOOK_AT = [2, 25, 50, 75, 98]
const TRUE_NAMES: Readonly<Record<string, (truth: Record<string, unknown>) => number>> = {
  'x1 r0': (t) => t.r0 as number,
  'x1 a': (t) => t.a as number,
  'x1 b': (t) => t.b as number,
  'x3 rWtp': (t) => t.rWtp as number,
  'x3 a': (t) => (t.coefficients as { a: number }).a,
  'x4 0': (t) => (t.coefficients as number[])[0]!,
  'x4 1': (t) => (t.coefficients as number[])[1]!,
  'x4 3': (t) => (t.coefficients as number[])[2]!,
}

/** Kinds of thermometer by the channel they hang on. */
export const KINDS = {
  x1: 'industrial platinum, Callendar-Van Dusen',
  x3: 'standard platinum, ITS-90',
  x4: 'thermistor, Steinhart-Hart',
  x5: 'thermocouple, deviation from its type',
} as const

/** Visits of the temperatures: rising only, or up and down again. */
export const VISITS = {
  up: [0, 16, 33, 50, 67, 83, 100],
  'up-down': [0, 20, 40, 60, 80, 100, 70, 50, 30],
} as const

export interface Tally {
  hits: number
  tries: number
}

export const percent = ({ hits, tries }: Tally): number => (100 * hits) / tries

export const together = (tallies: Iterable<Tally>): Tally =>
  [...tallies].reduce((sum, { hits, tries }) => ({ hits: sum.hits + hits, tries: sum.tries + tries }), {
    hits: 0,
    tries: 0,
  })

/** How often the truth lies within U, by what was asked: coefficients, the curve, the points of each channel. */
export function tally(nights: Iterable<Simulation>): Map<string, Tally> {
  const found = new Map<string, Tally>()
  const count = (key: string, hit: boolean) => {
    const at = found.get(key) ?? { hits: 0, tries: 0 }
    found.set(key, { hits: at.hits + (hit ? 1 : 0), tries: at.tries + 1 })
  }
  for (const { input, truth } of nights) {
    const { thermometers } = analyse({ ...input, options: { monteCarloTrials: 0 } })
    for (const { record, fit, coefficients, points } of thermometers) {
      const channel = record.channel.id
      const conversion = truth.conversions[channel]!
      const own = prepare(conversion)
      for (const { name, value, budget } of coefficients) {
        const known = TRUE_NAMES[`${channel} ${name}`]
        if (known)
          count(`${channel} ${name}`, Math.abs(value - known(conversion as never)) <= budget.expanded)
      }
      for (const t of LOOK_AT) {
        const error = fit!.prepared.toTemperature(own.toSignal(t).value).value - t
        count(`${channel} curve`, Math.abs(error * 1e3) <= fit!.atTemperature(t).expanded)
      }
      for (const { pair, budget } of points.filter((p) => !p.pair.cell)) {
        const error = own.toTemperature(pair.underTest.signal).value - pair.referenceC
        count(`${channel} point`, Math.abs(error * 1e3) <= budget.expanded)
      }
    }
  }
  return found
}

/** Mean error of a channel's curve over nights and temperatures, mK: what an order of reading leaves of a drift. */
export function biasMk(nights: Iterable<Simulation>, channel: string): number {
  let sum = 0
  let n = 0
  for (const { input, truth } of nights) {
    const { thermometers } = analyse({ ...input, options: { monteCarloTrials: 0 } })
    const { fit } = thermometers.find((t) => t.record.channel.id === channel)!
    const own = prepare(truth.conversions[channel]!)
    for (const t of LOOK_AT) {
      sum += (fit!.prepared.toTemperature(own.toSignal(t).value).value - t) * 1e3
      n++
    }
  }
  return sum / n
}

const READ_EVERY_S = 20
const CYCLES = 3

export function chainsOf({ input }: Simulation) {
  const { bench, register } = input.setup
  return buildChains({ bench, register, date: '2026-03-01' })
}

/** A point's readings in an order, in a bath that drifts steadily about the point's own mean temperature. */
export function readInOrder(
  simulation: Simulation,
  point: Point,
  order: Plan['order'],
  driftMkPerMin: number,
  seed: number,
): Reading[] {
  const { setup } = simulation.input
  const random = seededRandom(seed)
  const ids = point.channels.map((c) => c.channel)
  const reference = ids.includes('s0') ? ['s0'] : []
  const others = ids.filter((id) => id !== 's0')
  const stops = Array.from({ length: CYCLES }, () => readingOrder(order, reference, others)).flat()
  const middleS = (READ_EVERY_S * (stops.length - 1)) / 2
  const cell = point.kind !== 'comparison'
  const referenceConversion = setup.register.thermometers[0]!.calibrations[0]!.conversion
  return stops.map((channel, i): Reading => {
    const timeS = READ_EVERY_S * i
    const at = point.channels.find((c) => c.channel === channel)!
    const conversion = channel === 's0' ? referenceConversion : simulation.truth.conversions[channel]!
    const signalPerRaw = at.signal! / at.rawMean
    const rawPerK = prepare(conversion).toSignal(point.setpointC).dValueDInput / signalPerRaw
    const movedK = cell ? 0 : (driftMkPerMin * (timeS - middleS)) / 60e3
    // The fixture's mean already carries the noise of its own readings; these only show their spread.
    const value = at.rawMean + movedK * rawPerK + (at.rawSd / 5) * random.normal()
    return {
      seq: i + 1,
      channel,
      utcUs: point.startUtcUs + timeS * 1e6,
      monoUs: timeS * 1e6,
      raw: value.toFixed(10),
      value: value.toFixed(10),
      unit: at.rawUnit === 'mV' ? 'mV' : 'ratio',
      marks: [],
      currentMa: null,
    }
  })
}

export interface OrderedNights {
  readonly order: Plan['order']
  readonly visits: keyof typeof VISITS
  /** Drift of the bath while a point is taken, mK/min; its sign changes from point to point unless it is one-way. */
  readonly driftMkPerMin: number
  readonly oneWay?: boolean
  /** The reference as if it had stood still: its mean over the point instead of its value at each thermometer's time. */
  readonly naive?: boolean
}

/** Nights whose points were read in an order, in a bath that drifts. */
export function* nightsInOrder(choices: OrderedNights, first: number, count: number): Generator<Simulation> {
  const { order, visits, driftMkPerMin, oneWay = false, naive = false } = choices
  const night: Partial<SimulationChoices> = {
    cell: 'under-test',
    thermocouple: true,
    setpoints: VISITS[visits],
  }
  for (let seed = first; seed < first + count; seed++) {
    const simulation = simulate({ ...night, seed })
    const chains = chainsOf(simulation)
    const points = simulation.input.points.map((point, i) => {
      const drift = oneWay || i % 2 === 0 ? driftMkPerMin : -driftMkPerMin
      const { channels: _c, startUtcUs: _s, endUtcUs: _e, ...head } = point
      const readings = readInOrder(simulation, point, order, drift, seed * 100 + i)
      const built = buildPoint({ bench: simulation.input.setup.bench, chains, readings }, head)
      if (!naive) return built
      const still = built.channels.find((c) => c.channel === 's0')?.t90C ?? null
      return { ...built, channels: built.channels.map((c) => ({ ...c, referenceC: still })) }
    })
    yield { ...simulation, input: { ...simulation.input, points } }
  }
}
