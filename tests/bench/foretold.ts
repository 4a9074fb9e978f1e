import type { EarlierNight } from '../../app/plan/earlier-night.ts'
import { earlierNight } from '../../app/plan/earlier-night.ts'
import { estimatePlan } from '../../app/plan/estimate.ts'
import { foretell } from '../../app/plan/foretell.ts'
import { paceOf } from '../../app/plan/night-pace.ts'
import type { Bench } from '../../app/records/bench.ts'
import { Plan } from '../../app/records/plan.ts'
import { type Analysis, analyse } from '../../app/results/analysis.ts'
import { type NightChoices, planOf, quickNight } from '../soak/hostile/night.ts'
import { type BathNight, bathNight, drawnBath } from './bath-night.ts'

const NIGHTS_BEFORE = 3

const planThrough = (celsius: readonly number[], settling = {}): Plan =>
  Plan.parse({
    ...{ id: 'p', name: 'P', setpoints: celsius.map((c) => ({ celsius: c })) },
    settling: { windowS: 600, driftMkPerMin: 0.5, spreadMk: 2, bandK: 0.1, holdS: 300, ...settling },
  })

const asNight = ({ steps, slower }: BathNight, i: number): EarlierNight => ({
  ...{ session: `s${i}`, endedUtcUs: 0, channels: [], placesMk: null },
  ...{ steps, slower, slowerWithPairs: [], actsS: [] },
})

/** Foretold duration over the real one, of the fourth night of a bath: the plan of the nights before, or for even seeds another. */
export function foretoldTime(seed: number, bench: Bench): number {
  const bath = drawnBath(seed)
  const usual = planThrough([15, 35, 55, 75, 95])
  const before = Array.from({ length: NIGHTS_BEFORE }, (_, i) =>
    bathNight(bath, seed * 100 + i, usual, bench),
  )
  const tonight =
    seed % 2 === 1 ? usual : planThrough([20, 50, 100, 50], seed % 4 === 0 ? { driftMkPerMin: 1 } : {})
  const took = bathNight(bath, seed * 100 + 50, tonight, bench).totalS
  const pace = paceOf(before.map(asNight))
  return estimatePlan(tonight, bench, ROOM_C, pace).at(-1)!.endS / took
}

/** Where the bath of a night sets out, degC. */
const ROOM_C = 23

const look = (input: Analysis['input']) =>
  analyse({ ...input, options: { monteCarloTrials: 0, interpolationStepK: 1e4, bandSteps: 0 } })

/** Foretold U over the reported one, of every thermometer at every setpoint of the fourth night in a laboratory. */
export function foretoldU(seed: number, order: Plan['order'] = 'symmetric'): number[] {
  const usual: NightChoices = { kind: 'none', order, seed }
  let night = quickNight(usual)
  const nights = [earlierNight(look(night.input))]
  while (nights.length < NIGHTS_BEFORE) {
    night = quickNight({ ...usual, lab: night.lab })
    nights.push(earlierNight(look(night.input)))
  }
  const tonight: NightChoices = seed % 2 === 1 ? usual : { ...usual, setpoints: [10, 30, 60, 100], cycles: 2 }
  const { input } = quickNight({ ...tonight, lab: night.lab })
  const reported = look(input)
  const { bench, register } = input.setup
  const told = foretell({ plan: planOf(tonight), bench, register, date: '2026-03-04', nights, options: {} })
  return told.results.flatMap(({ channel, at }) => {
    const { fit } = reported.thermometers.find((t) => t.record.channel.id === channel)!
    return at.map(({ celsius, expandedMk }) => expandedMk / fit!.atTemperature(celsius).expanded)
  })
}

/** Share of the ratios that are within a part of one. */
export const shareWithin = (ratios: readonly number[], part: number): number =>
  ratios.filter((r) => Math.abs(r - 1) <= part).length / ratios.length
