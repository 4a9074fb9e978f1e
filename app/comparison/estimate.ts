import type { Bench, Channel } from '../records/bench.ts'
import type { Plan } from '../records/plan.ts'
import { readingOrder, SELF_HEATING_FACTORS } from './orders.ts'

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
    const stops = readingOrder(plan.order, reference, others)
    let cycleS = 0
    for (const [i, id] of stops.entries()) {
      const before = stops[i === 0 ? stops.length - 1 : i - 1]
      cycleS += visitS(own.find((c) => c.id === id)!, pace, before === id)
    }
    const pairS = selfHeating
      ? own.reduce((sum, c) => sum + SELF_HEATING_FACTORS.length * (120 + 6 * c.average * pace.readingS), 0)
      : 0
    return plan.cycles * cycleS + pairS
  })
  return Math.max(0, ...lanes)
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
