import { needed } from '../base/lists.ts'
import type { Bench, Channel } from '../records/bench.ts'
import type { Plan } from '../records/plan.ts'
import { mean } from '../statistics/centre.ts'
import { CURRENT_SETTLE_S, companionOf, PAIR_READINGS, pairOrder, pointOrder } from './orders.ts'
import { type SeenStep, stepTimeS } from './step-time.ts'

/** What a night has shown so far, or what is assumed before it has. */
export interface Pace {
  /** How fast the bath travels, K/min. */
  readonly travelKPerMin: number
  /** From arrival until the drift has died down, before window and hold time, s. */
  readonly dieDownS: number
  /** Seconds for one measurement the instrument does not average. */
  readonly readingS: number
  /** What the bath did in earlier nights. */
  readonly steps?: readonly SeenStep[]
  /** What a point took in earlier nights over what it should by its order. */
  readonly takes?: { readonly plain: number; readonly withPairs: number }
  /** From the end of a point to the beginning of the one that follows an act of a person, s. */
  readonly actS?: number
}

/** A stirred liquid bath and a bridge that takes half a second for a reading; common practice, no source. */
export const USUAL_PACE: Pace = { travelKPerMin: 3, dieDownS: 900, readingS: 0.5 }

export interface StepTimes {
  readonly step: number
  readonly celsius: number
  readonly travelS: number
  readonly settleS: number
  readonly measureS: number
  /** For what hands do after the point: thermometers change places or are lifted, and are read again. */
  readonly actsS: number
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
      orderS += visitS(
        needed(
          own.find((c) => c.id === id),
          `channel ${id}`,
        ),
        pace,
        stops[i - 1] === id,
      )
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

/** Until a person has come to the bench and done what is asked, s; common practice, no source. */
const PERSON_S = 600
/** Until a thermometer stands still in a cell, beside window and hold time, s; common practice, no source. */
const IN_CELL_S = 900

/** Seconds until a bath stands at a setpoint: on the way there, and until the rule holds. */
function settleTimes(
  plan: Plan,
  fromC: number,
  toC: number,
  pace: Pace,
): { travelS: number; settleS: number } {
  const distance = Math.abs(toC - fromC)
  const rampS = plan.rampKPerMin === undefined ? 0 : (distance / plan.rampKPerMin) * 60
  const usualS = Math.max((distance / pace.travelKPerMin) * 60, rampS)
  const { windowS, holdS } = plan.settling
  const seenS = stepTimeS(pace.steps ?? [], fromC, toC, plan.settling)
  if (seenS === null) {
    const settleS = Math.min(plan.maxWaitS, windowS + holdS + (distance > 0 ? pace.dieDownS : 0))
    return { travelS: usualS, settleS }
  }
  const travelS = Math.max(rampS, Math.min(usualS, seenS - windowS - holdS))
  return { travelS, settleS: Math.min(plan.maxWaitS, Math.max(windowS + holdS, seenS - travelS)) }
}

/** Seconds one check of R(WTP) takes: into the cell, standing still, read at two currents, and back. */
function wtpS(plan: Plan, bench: Bench, pace: Pace): number {
  const reference = bench.channels.find((c) => c.enabled && c.role === 'reference')
  if (!reference) return 0
  const alone = { ...bench, channels: [reference] }
  const { windowS, holdS } = plan.settling
  return (
    2 * PERSON_S +
    IN_CELL_S +
    windowS +
    holdS +
    measureS({ ...plan, order: 'sequence', cycles: 3 }, alone, true, pace)
  )
}

/** Seconds of what comes before the first setpoint and after the last one. */
export function aroundS(
  plan: Plan,
  bench: Bench,
  pace: Pace = USUAL_PACE,
): { beforeS: number; afterS: number } {
  const cellS = plan.wtpCheck ? wtpS(plan, bench, pace) : 0
  const insulated = bench.channels.filter(
    (c) => c.enabled && c.role !== 'monitor' && c.junction === undefined,
  )
  const testerS = plan.insulationCheck ? PERSON_S + 120 * insulated.length : 0
  return { beforeS: cellS, afterS: cellS + testerS }
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
  let startS = fromStep === 0 ? aroundS(plan, bench, pace).beforeS : 0
  const { plain, withPairs } = pace.takes ?? { plain: 1, withPairs: 1 }
  for (const [i, setpoint] of plan.setpoints.entries()) {
    if (i < fromStep) continue
    const { celsius, selfHeating } = setpoint
    const { travelS, settleS } = settleTimes(plan, at, celsius, pace)
    const takeS = measureS(plan, bench, selfHeating, pace) * (selfHeating ? withPairs : plain)
    const { windowS, holdS } = plan.settling
    const againS = (pace.actS ?? PERSON_S + windowS + holdS) + measureS(plan, bench, false, pace) * plain
    const actsS = (Number(setpoint.exchange ?? false) + Number(setpoint.lift ?? false)) * againS
    const endS = startS + travelS + settleS + takeS + actsS
    steps.push({ step: i, celsius, travelS, settleS, measureS: takeS, actsS, startS, endS })
    startS = endS
    at = celsius
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
  const usualTakeS = measureS(plan, bench, false, USUAL_PACE)
  const slower = takes.length > 0 && usualTakeS > 0 ? Math.max(0.2, mean(takes) / usualTakeS) : 1
  return {
    travelKPerMin: USUAL_PACE.travelKPerMin,
    dieDownS: dieDowns.length > 0 ? mean(dieDowns) : USUAL_PACE.dieDownS,
    readingS: USUAL_PACE.readingS * slower,
  }
}

/** Channels in use of each bridge or meter: they are scanned beside those of the others. */
export function byMeter(bench: Bench): Channel[][] {
  const meters = new Map<string, Channel[]>()
  for (const channel of bench.channels) {
    if (!channel.enabled) continue
    const own = meters.get(channel.instrument)
    if (own) own.push(channel)
    else meters.set(channel.instrument, [channel])
  }
  return [...meters.values()]
}
