import { entryOf, at as placed } from '../base/lists.ts'
import type { Channel } from '../records/bench.ts'
import type { SettlingRule } from '../records/plan.ts'
import type { Point, PointChannel } from '../records/point.ts'
import type { SessionEvent } from '../records/session.ts'
import type { Analysis } from '../results/analysis.ts'
import { insulationOf } from '../results/guided.ts'
import { upAndDown } from '../results/hysteresis.ts'
import { isCell } from '../results/reference-side.ts'
import { mean } from '../statistics/centre.ts'
import { measureS, USUAL_PACE } from './estimate.ts'
import type { SeenStep } from './step-time.ts'

/** How well a channel repeated within the points of one night. */
export interface Repeated {
  /** Mean over the points of u²n, mK²: u of the mean by its readings, n how many they were. */
  readonly squareMk: number
  /** Part of the readings that counts as independent. */
  readonly effectivePart: number
  readonly points: number
}

/** What one night on a bench showed of one channel. */
export interface EarlierChannel {
  readonly channel: Pick<Channel, 'id' | 'instrument' | 'role' | 'thermometer'>
  readonly kind: string
  readonly rawUnit: string
  readonly inBath: Repeated | null
  readonly inCell: Repeated | null
  /** How long on average no reference was read beside it, s, and drift of the bath meanwhile, mK/min. */
  readonly heldS: number
  readonly driftMkPerMin: number
  /** By pairs of currents: self-heating over resistance, mK/ohm; square of its u at a point, mK²; how many pairs. */
  readonly heating: { readonly mkPerOhm: number; readonly squareMk: number; readonly pairs: number } | null
  /** By visits on both ways: difference down less up for each kelvin below the hottest, mK/K. */
  readonly memoryMkPerK: number | null
  readonly liftMk: number | null
  readonly insulationOhm: number | null
}

/** What an earlier night on a bench tells of the next one. */
export interface EarlierNight {
  readonly session: string
  readonly endedUtcUs: number
  readonly channels: readonly EarlierChannel[]
  /** Standard deviation of the change of the places from the first exchange to the last, mK; null with fewer than two. */
  readonly placesMk: number | null
  readonly steps: readonly SeenStep[]
  /** What the points took over what they should have by their order, without and with pairs of currents. */
  readonly slower: readonly number[]
  readonly slowerWithPairs: readonly number[]
  /** What a person's acts took, from the end of a point to the beginning of the one after the act, s. */
  readonly actsS: readonly number[]
}

function repeatedAt(points: readonly PointChannel[]): Repeated | null {
  const told = points.flatMap((p) => (p.uTypeAMk !== null && p.n > 1 ? [{ ...p, uTypeAMk: p.uTypeAMk }] : []))
  if (told.length === 0) return null
  const effective = (p: PointChannel) => (Number.isFinite(p.nEffective) ? p.nEffective : p.n) / p.n
  return {
    squareMk: mean(told.map((p) => p.uTypeAMk ** 2 * p.n)),
    effectivePart: mean(told.map(effective)),
    points: told.length,
  }
}

function channelsOf(analysis: Analysis): EarlierChannel[] {
  const { points, events } = analysis.input
  const { setup } = analysis.decisions
  const insulation = insulationOf(events)
  return setup.bench.channels.flatMap((channel): EarlierChannel[] => {
    const thermometer = setup.register.thermometers.find((t) => t.id === channel.thermometer)
    const at = (of: (p: Point) => boolean) =>
      points.filter(of).flatMap((p) => p.channels.filter((c) => c.channel === channel.id))
    const bath = at((p) => p.kind === 'comparison')
    const cell = at(isCell)
    const any = bath[0] ?? cell[0]
    if (!thermometer || !any || channel.role === 'monitor') return []
    const pairs = [...bath, ...cell].flatMap(({ selfHeatingMk, uSelfHeatingMk, signal, nPairs }) =>
      selfHeatingMk !== null && uSelfHeatingMk !== null && signal !== null && signal !== 0
        ? [{ mkPerOhm: selfHeatingMk / signal, u: uSelfHeatingMk, n: nPairs ?? 1 }]
        : [],
    )
    const result = analysis.thermometers.find((t) => t.record.channel.id === channel.id)
    const hottestC = Math.max(...points.filter((p) => p.kind === 'comparison').map((p) => p.setpointC))
    const memory = (result?.revisits ?? []).flatMap(({ setpointC, visits }) => {
      const found = upAndDown(visits)
      return found && hottestC > setpointC ? [found.mk / (hottestC - setpointC)] : []
    })
    return [
      {
        channel: {
          id: channel.id,
          instrument: channel.instrument,
          role: channel.role,
          ...(channel.thermometer !== undefined && { thermometer: channel.thermometer }),
        },
        kind: thermometer.kind,
        rawUnit: any.rawUnit,
        inBath: repeatedAt(bath),
        inCell: repeatedAt(cell),
        heldS: bath.length === 0 ? 0 : mean(bath.map((c) => c.referenceHeldS ?? 0)),
        driftMkPerMin: bath.length === 0 ? 0 : mean(bath.map((c) => Math.abs(c.driftMkPerMin ?? 0))),
        heating:
          pairs.length === 0
            ? null
            : {
                mkPerOhm: mean(pairs.map((c) => c.mkPerOhm)),
                squareMk: mean(pairs.map((c) => c.u ** 2)),
                pairs: Math.round(mean(pairs.map((c) => c.n))),
              },
        memoryMkPerK: memory.length === 0 ? null : mean(memory),
        liftMk: result?.beside?.lift?.changeMk ?? null,
        insulationOhm: insulation.get(channel.id) ?? null,
      },
    ]
  })
}

/** Standard deviation over the places of what changed from the first exchange to the last, mK. */
function placesOf({ exchanges }: Analysis): number | null {
  const [first, last] = [exchanges[0], exchanges.at(-1)]
  if (!first || !last || first === last) return null
  const changes = first.places.flatMap((p) =>
    last.offsetMk.has(p) ? [entryOf(last.offsetMk, p) - entryOf(first.offsetMk, p)] : [],
  )
  if (changes.length < 2) return null
  const middle = mean(changes)
  return Math.sqrt(changes.reduce((sum, c) => sum + (c - middle) ** 2, 0) / (changes.length - 1))
}

/** Approaches by step, from whoever has the readings; `fromUtcUs` is when the setpoint was changed. */
export type ApproachAt = (fromUtcUs: number, toUtcUs: number) => Approach

/** How long a bath took to each setpoint until it was settled, as a session's events tell. */
export function stepsOf(
  events: readonly SessionEvent[],
  rule: SettlingRule,
  approachAt: ApproachAt,
): SeenStep[] {
  const steps: SeenStep[] = []
  let set: { utcUs: number; fromC: number; toC: number } | null = null
  let atC: number | null = null
  for (const { kind, utcUs, data } of events) {
    if (kind === 'setpoint' && typeof data.celsius === 'number') {
      const fromC = typeof data.fromC === 'number' ? data.fromC : atC
      set = fromC === null ? null : { utcUs, fromC, toC: data.celsius }
      atC = data.celsius
    } else if (kind === 'settled' && set) {
      const { fromC, toC } = set
      steps.push({ fromC, toC, tookS: (utcUs - set.utcUs) / 1e6, rule, ...approachAt(set.utcUs, utcUs) })
      set = null
    }
  }
  return steps
}

/** What a night tells of the next one on the same bench. Pure: from its analysis and from its events. */
export function earlierNight(analysis: Analysis, approachAt: ApproachAt = () => UNTOLD): EarlierNight {
  const { info, points, events } = analysis.input
  const { bench, plan } = analysis.decisions.setup
  const took = (withPairs: boolean) =>
    points.flatMap((p) => {
      const setpoint = plan?.setpoints[p.step]
      const own = p.kind === 'comparison' && !isAfterAct(p)
      if (!plan || !setpoint || !own || setpoint.selfHeating !== withPairs) return []
      const usualS = measureS(plan, bench, withPairs, USUAL_PACE)
      return usualS > 0 ? [(p.endUtcUs - p.startUtcUs) / 1e6 / usualS] : []
    })
  return {
    session: info.id,
    endedUtcUs: info.endedUtcUs ?? info.startedUtcUs,
    channels: channelsOf(analysis),
    placesMk: placesOf(analysis),
    steps: plan ? stepsOf(events, plan.settling, approachAt) : [],
    slower: took(false),
    slowerWithPairs: took(true),
    actsS: points.flatMap((p, i) => {
      const before = points[i - 1]
      return before && isAfterAct(p) ? [(p.startUtcUs - before.endUtcUs) / 1e6] : []
    }),
  }
}

/** A point that was taken at the same setpoint after somebody had moved the thermometers. */
const isAfterAct = ({ kind, id }: Point) => kind === 'lift' || id.endsWith('-exchanged')

/** Where a way ends, and how near to the end of it the approach is followed, K. */
const UPPER_K = 0.5
const LOWER_K = 0.05

/** How a bath came to a temperature. */
export interface Approach {
  /** From the first reading until it was within 0.5 K of where it stopped, s. */
  readonly travelS: number | null
  /** Time in which what is left of a deviation falls to 1/e, s. */
  readonly timeConstantS: number | null
}

/**
 * How a bath came to a temperature, by readings from the change of the setpoint on: between the last moments at which it was
 * further off than 0.5 K and than 0.05 K its deviation has fallen to a tenth.
 *
 *   tau = (t(0.05 K) - t(0.5 K)) / ln 10
 *
 * Source: exponential approach of a first-order system; common practice, no source. null where the readings do not reach that far.
 */
export function approachOf(timesS: readonly number[], celsius: readonly number[]): Approach {
  if (timesS.length < 10) return UNTOLD
  const endC = mean(celsius.slice(-Math.max(3, celsius.length >> 3)))
  const lastBeyond = (k: number) => {
    const i = celsius.findLastIndex((c) => Math.abs(c - endC) > k)
    return i < 0 || i === celsius.length - 1 ? null : placed(timesS, i)
  }
  const [far, near] = [lastBeyond(UPPER_K), lastBeyond(LOWER_K)]
  return {
    travelS: far === null ? null : far - placed(timesS, 0),
    timeConstantS:
      far === null || near === null || near <= far ? null : (near - far) / Math.log(UPPER_K / LOWER_K),
  }
}

const UNTOLD: Approach = { travelS: null, timeConstantS: null }
