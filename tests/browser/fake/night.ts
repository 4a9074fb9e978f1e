import type { StripMark } from '../../../app/contract/views.ts'
import type { Plan } from '../../../app/records/plan.ts'

/** The course of a made-up night: what the bath and every channel would show at any second of it. */

export interface NightStep {
  celsius: number
  startS: number
  travelS: number
  settleS: number
  measureS: number
  endS: number
}

const TRAVEL_K_PER_S = 1 / 12
const SETTLE_S = 1200
const MEASURE_S = 900
const ROOM_C = 22

/** Steps of a plan with travel at 5 K/min, 20 min of settling and 15 min of measuring. */
export function stepsOf(plan: Plan): NightStep[] {
  const steps: NightStep[] = []
  let from = ROOM_C
  let at = 0
  for (const { celsius } of plan.setpoints) {
    const travelS = Math.max(60, Math.abs(celsius - from) / TRAVEL_K_PER_S)
    const endS = at + travelS + SETTLE_S + MEASURE_S
    steps.push({ celsius, startS: at, travelS, settleS: SETTLE_S, measureS: MEASURE_S, endS })
    from = celsius
    at = endS
  }
  return steps
}

export function stepAt(steps: readonly NightStep[], s: number): number {
  const found = steps.findIndex((step) => s < step.endS)
  return found < 0 ? steps.length - 1 : found
}

/** Repeatable noise, roughly normal, from two whole numbers. */
export function noise(a: number, b: number): number {
  let sum = 0
  for (let i = 0; i < 4; i++) {
    let x = (a * 374_761_393 + b * 668_265_263 + i * 2_147_483_647) | 0
    x = Math.imul(x ^ (x >>> 13), 1_274_126_177)
    x ^= x >>> 16
    sum += (x >>> 0) / 4_294_967_296 - 0.5
  }
  return sum * 1.73
}

/** Bath temperature: an exponential approach to each setpoint with a slow swing. */
export function bathC(steps: readonly NightStep[], s: number): number {
  if (steps.length === 0) return ROOM_C + 0.05 * Math.sin(s / 300)
  const i = stepAt(steps, s)
  const step = steps[i]!
  const from = i === 0 ? ROOM_C : steps[i - 1]!.celsius
  const into = Math.max(0, s - step.startS)
  const travelled = Math.min(1, into / step.travelS)
  const after = Math.max(0, into - step.travelS)
  const rest = (step.celsius - from) * 0.004 * Math.exp(-after / 240)
  const base = from + (step.celsius - from) * travelled
  return base - (travelled >= 1 ? rest : 0) + 0.0012 * Math.sin(s / 97)
}

/** Callendar-Van Dusen with the industrial coefficients, ohm of a nominal 100 ohm. */
export function ohmOf(celsius: number): number {
  const c = celsius < 0 ? -4.183e-12 * (celsius - 100) * celsius ** 3 : 0
  return 100 * (1 + 3.9083e-3 * celsius - 5.775e-7 * celsius ** 2 + c)
}

export function stripOf(steps: readonly NightStep[], startUtcUs: number, nowS: number): StripMark[] {
  const at = (s: number) => Math.round(startUtcUs + s * 1e6)
  const marks: StripMark[] = []
  for (const [i, step] of steps.entries()) {
    const gone = step.startS <= nowS
    marks.push({
      kind: gone ? 'setpoint' : 'expected-setpoint',
      fromUtcUs: at(step.startS),
      toUtcUs: at(step.endS),
      words: `Setpoint ${i + 1}: ${step.celsius} °C`,
      celsius: step.celsius,
    })
    const done = step.endS <= nowS
    marks.push({
      kind: done ? 'point' : 'expected-point',
      fromUtcUs: at(step.endS - step.measureS),
      toUtcUs: at(step.endS),
      words: done
        ? `Point ${i + 1} taken at ${step.celsius} °C`
        : `Point ${i + 1} expected at ${step.celsius} °C`,
      celsius: step.celsius,
    })
    const settledS = step.startS + step.travelS + step.settleS
    if (settledS <= nowS)
      marks.push({
        kind: 'settled',
        fromUtcUs: at(settledS),
        toUtcUs: at(settledS),
        words: `Settled at ${step.celsius} °C`,
        celsius: step.celsius,
      })
  }
  return marks
}
