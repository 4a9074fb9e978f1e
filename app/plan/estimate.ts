import type { Bench, Channel } from '../records/bench.ts'
import type { Plan } from '../records/plan.ts'
import { CURRENT_SETTLE_S, companionOf, PAIR_READINGS, pairOrder, pointOrder } from './orders.ts'

/** What a night has shown so far, or what is assumed before it has. */
export interface Pace {
  /** How fast the bath travels, K/min. */
  readonly travelKPerMin: number
  /** From arrival until the drift has died down, before window and hold time, s. */
  readonly dieDownS: number
  /** Seconds for one measurement the instrument does not average. */
  readonly readingS: number
}

/** A stirred liquid bath and a bridge that takes half a second for a reading; common practice, no source. */
export const USUAL_PACE: Pace = { travelKPerMin: 3, dieDownS: 900, readingS: 0.5 }

export interface StepTimes {
  readonly step: number
  readonly celsius: number
  readonly travelS: number
  readonly settleS: number
  readonly measureS: number
  readonly startS: number
  readonly endS: number
}

/** Time for one visit of a channel, s; without the wait where the channel is already connected. */
export function visitS(channel: Channel, pace: Pace, connected = false): number {
  const readings = (channel.readings + (connected ? 0 : channel.discard)) * channel.average * pace.readingS
  return readings + (connected ? 0 : channel.settleMs / 1000)
}

/** Seconds one scan of the busiest bridge takes. */
export function scanS(bench: Bench, pace: Pace): number {
  const lanes = byMeter(bench).map((channels) => channels.reduce((sum, c) => sum + visitS(c, pace), 0))
  return Math.max(0, bench.scanEveryS, ...lanes)
}

/** Seconds one point takes: all bridges at once, the slowest counts. */
export function measureS(plan: Plan, bench: Bench, selfHeating: boolean, pace: Pace): number {
  const lanes = byMeter(bench).map((channels) => {
    const own = channels.filter((c) => c.role !== 'monitor')
    const reference = own.filter((c) => c.role === 'reference').map((c) => c.id)
    const others = own.filter((c) => c.role !== 'reference').map((c) => c.id)
    const stops = pointOrder(plan.order, plan.cycles, reference, others)
    let orderS = 0
    for (const [i, id] of stops.entries()) {
      orderS += visitS(own.find((c) => c.id === id)!, pace, stops[i - 1] === id)
    }
    return orderS + (selfHeating ? own.reduce((sum, c) => sum + pairsS(c, own, pace), 0) : 0)
  })
  return Math.max(0, ...lanes)
}

/** Seconds the self-heating pairs of one channel take. */
function pairsS(channel: Channel, own: readonly Channel[], pace: Pace): number {
  const companion = companionOf(channel.id, own)
  const other = own.find((c) => c.id === companion)
  return pairOrder(channel.id, companion).reduce(
    (sum, stop) =>
      sum +
      (stop.currentFactor === undefined && other
        ? visitS(other, pace)
        : CURRENT_SETTLE_S + PAIR_READINGS * channel.average * pace.readingS),
    0,
  )
}

/** When each setpoint of a plan, from `fromStep` on, begins and ends, s from now. */
export function estimatePlan(
  plan: Plan,
  bench: Bench,
  fromC: number,
  pace: Pace = USUAL_PACE,
  fromStep = 0,
): readonly StepTimes[] {
  const steps: StepTimes[] = []
  let at = fromC
  let startS = 0
  for (const [i, setpoint] of plan.setpoints.entries()) {
    if (i < fromStep) continue
    const kPerMin = Math.min(pace.travelKPerMin, plan.rampKPerMin ?? Number.POSITIVE_INFINITY)
    const distance = Math.abs(setpoint.celsius - at)
    const travelS = (distance / kPerMin) * 60
    const { windowS, holdS } = plan.settling
    const settleS = Math.min(plan.maxWaitS, windowS + holdS + (distance > 0 ? pace.dieDownS : 0))
    const takeS = measureS(plan, bench, setpoint.selfHeating, pace)
    const endS = startS + travelS + settleS + takeS
    steps.push({ step: i, celsius: setpoint.celsius, travelS, settleS, measureS: takeS, startS, endS })
    startS = endS
    at = setpoint.celsius
  }
  return steps
}

/** A moment of the night as its strip tells it. */
interface Moment {
  readonly kind: string
  readonly fromUtcUs: number
  readonly toUtcUs: number
  readonly celsius: number | null
}

/**
 * The pace a night has shown: how long after a change of setpoint its points settled, and how long they took to measure;
 * where it has shown nothing yet, what is usual.
 */
export function observedPace(moments: readonly Moment[], plan: Plan, bench: Bench): Pace {
  const { windowS, holdS } = plan.settling
  const dieDowns: number[] = []
  const takes: number[] = []
  let setpoint: Moment | undefined
  let before: number | null = null
  for (const moment of moments) {
    if (moment.kind === 'setpoint') {
      before = setpoint?.celsius ?? null
      setpoint = moment
    } else if (moment.kind === 'settled' && setpoint && setpoint.celsius !== null) {
      const distance = before === null ? 0 : Math.abs(setpoint.celsius - before)
      const travelS = (distance / USUAL_PACE.travelKPerMin) * 60
      const tookS = (moment.fromUtcUs - setpoint.fromUtcUs) / 1e6
      if (before !== null) dieDowns.push(Math.max(0, tookS - travelS - windowS - holdS))
    } else if (moment.kind === 'point') takes.push((moment.toUtcUs - moment.fromUtcUs) / 1e6)
  }
  const mean = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0) / values.length
  const usualTakeS = measureS(plan, bench, false, USUAL_PACE)
  const slower = takes.length > 0 && usualTakeS > 0 ? Math.max(0.2, mean(takes) / usualTakeS) : 1
  return {
    travelKPerMin: USUAL_PACE.travelKPerMin,
    dieDownS: dieDowns.length > 0 ? mean(dieDowns) : USUAL_PACE.dieDownS,
    readingS: USUAL_PACE.readingS * slower,
  }
}

function byMeter(bench: Bench): Channel[][] {
  const meters = new Map<string, Channel[]>()
  for (const channel of bench.channels) {
    if (!channel.enabled) continue
    const own = meters.get(channel.instrument)
    if (own) own.push(channel)
    else meters.set(channel.instrument, [channel])
  }
  return [...meters.values()]
}
