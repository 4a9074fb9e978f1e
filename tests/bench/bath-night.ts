import { SettlingTracker } from '../../app/live/settling.ts'
import { Track } from '../../app/live/track.ts'
import { approachOf } from '../../app/plan/earlier-night.ts'
import { measureS, USUAL_PACE } from '../../app/plan/estimate.ts'
import type { SeenStep } from '../../app/plan/step-time.ts'
import type { Bench } from '../../app/records/bench.ts'
import type { Plan } from '../../app/records/plan.ts'
import { Ambient } from '../../simulator/physics/ambient.ts'
import { Bath, type BathDesign } from '../../simulator/physics/bath.ts'
import { randomStream } from '../../simulator/physics/randomness.ts'
import { ThermometerBody } from '../../simulator/physics/thermometer.ts'
import { oilBath } from '../../simulator/scenarios/stock.ts'

/** A bath night without wires: how long each step took, how long each point over what it should. */
export interface BathNight {
  readonly steps: readonly SeenStep[]
  readonly slower: readonly number[]
  readonly totalS: number
}

/** Seconds from one look of every channel to the next. */
const SCAN_S = 10
/** Noise of one reading, K. */
const READING_K = 0.0002

/** An oil bath of its own size and power, drawn from the seed. */
export function drawnBath(seed: number): BathDesign {
  const random = randomStream(seed, 'bath design')
  const between = (low: number, high: number) => low + (high - low) * random.uniform()
  const size = between(0.6, 2)
  const usual = oilBath(`bath ${seed}`)
  const { proportionalWPerK, integralS, derivativeS, approachK } = usual.gains
  return {
    ...usual,
    capacityJPerK: usual.capacityJPerK * size,
    heaterW: usual.heaterW * between(0.5, 1.2),
    coolerW: usual.coolerW * between(0.5, 1.2),
    lossWPerK: usual.lossWPerK * between(0.7, 1.6),
    gains: { proportionalWPerK: proportionalWPerK * size, integralS, derivativeS, approachK },
  }
}

/** A night of a bath by its physics and by the settling rule of the station; points take their time, and a little more. */
export function bathNight(design: BathDesign, seed: number, plan: Plan, bench: Bench): BathNight {
  const stream = (what: string) => randomStream(seed, `bath night ${what}`)
  const ambient = new Ambient(stream('ambient'))
  const bath = new Bath(design, ambient, stream('bath'))
  const noise = stream('noise')
  const extra = stream('pace')
  const bodies = [7, 12].map(
    (lagS, i) =>
      new ThermometerBody(
        {
          ...{ id: `t${i}`, curve: { kind: 'steinhart-hart', coefficients: [1e-3, 2e-4, 1e-7] } },
          ...{ lagS, selfHeatingKPerW: 0, offsetK: 0, flutterK: 0.0003, flutterMemoryS: 60 },
        },
        bath.temperature,
        stream(`thermometer ${i}`),
      ),
  )
  const steps: SeenStep[] = []
  const slower: number[] = []
  let index = 0
  const goOn = (seconds: number) => {
    for (const end = index + Math.ceil(seconds); index < end; ) {
      index += 1
      for (const body of [ambient, bath, ...bodies]) body.step(index)
    }
  }
  goOn(60)
  bath.switch(true)
  const startS = index
  let fromC = bodies[0]!.element.latest
  for (const { celsius, selfHeating } of plan.setpoints) {
    const setAtS = index
    bath.setpointC = celsius
    const judged = bodies.map((body) => ({
      body,
      track: new Track(7200),
      tracker: new SettlingTracker(plan.settling),
    }))
    for (const { tracker } of judged) tracker.aim(celsius, setAtS)
    const seen: { timeS: number; celsius: number }[] = []
    do {
      goOn(SCAN_S)
      for (const { body, track, tracker } of judged) {
        track.push(index, body.element.latest + READING_K * noise.normal(), true)
        tracker.look(track, index)
      }
      seen.push({ timeS: index, celsius: bodies[0]!.element.latest })
    } while (!judged.every(({ tracker }) => tracker.isSteady(index)) && index - setAtS < plan.maxWaitS)
    steps.push({
      ...{ fromC, toC: celsius, tookS: index - setAtS, rule: plan.settling },
      ...approachOf(
        seen.map((s) => s.timeS),
        seen.map((s) => s.celsius),
      ),
    })
    const part = 1.02 + 0.05 * extra.uniform()
    slower.push(part)
    goOn(part * measureS(plan, bench, selfHeating, USUAL_PACE))
    fromC = celsius
  }
  return { steps, slower, totalS: index - startS }
}
