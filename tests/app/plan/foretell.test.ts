import { describe, expect, it } from 'vitest'
import { approachOf, earlierNight } from '../../../app/plan/earlier-night.ts'
import { estimatePlan } from '../../../app/plan/estimate.ts'
import { foretell } from '../../../app/plan/foretell.ts'
import type { ImaginedFrom } from '../../../app/plan/imagined.ts'
import { paceOf } from '../../../app/plan/night-pace.ts'
import { planChanges } from '../../../app/plan/plan-changes.ts'
import { stepTimeS } from '../../../app/plan/step-time.ts'
import { exchangedPlaces, ownPlaces } from '../../../app/records/places.ts'
import { Plan } from '../../../app/records/plan.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { foretoldTime, foretoldU, shareWithin } from '../../bench/foretold.ts'
import { planOf, quickNight } from '../../soak/hostile/night.ts'
import { BENCH } from '../results/bench-fixture.ts'

const bare = Plan.parse({
  id: 'p',
  name: 'P',
  setpoints: [15, 35, 55, 75, 95].map((celsius) => ({ celsius })),
  settling: { windowS: 600, driftMkPerMin: 0.5, spreadMk: 2, bandK: 0.1, holdS: 300 },
})

const night = (seed: number, more = {}) => {
  const { input } = quickNight({ kind: 'none', order: 'symmetric', seed, ...more })
  return { input, analysis: analyse({ ...input, options: { monteCarloTrials: 0 } }) }
}

describe('foretell', () => {
  const { input, analysis } = night(5)
  const { bench, register } = input.setup
  const from: ImaginedFrom = {
    ...{ plan: planOf({ kind: 'none', order: 'symmetric', seed: 5 }), bench, register, date: '2026-03-02' },
    ...{ nights: [earlierNight(analysis)], options: {} },
  }

  it('comes near the U of the next night, in a short form of the bench', () => {
    const ratios = [1, 2].flatMap((seed) => foretoldU(seed))
    expect(ratios.length).toBe(36)
    expect(shareWithin(ratios, 0.15)).toBeGreaterThan(0.8)
  })

  it('foretells the end of the next night from the steps of the bath, where the usual pace would be far off', () => {
    expect(Math.abs(foretoldTime(1, BENCH) - 1)).toBeLessThan(0.1)
    expect(Math.abs(foretoldTime(4, BENCH) - 1)).toBeLessThan(0.1)
  })

  it('names the largest parts first, as parts of the square', () => {
    const { results, refusal } = foretell(from)
    expect(refusal).toBeNull()
    expect(results.map((r) => r.channel)).toEqual(['sprt', 'prt', 'thermistor', 'couple'])
    for (const { most } of results.flatMap((r) => r.at)) {
      expect(most.map((m) => m.part)).toEqual(most.map((m) => m.part).toSorted((a, b) => b - a))
      expect(most.reduce((sum, m) => sum + m.part, 0)).toBeLessThanOrEqual(1 + 1e-9)
    }
  })

  it('says what would lower U and what would not, and what each costs', () => {
    const wide = { ...bench, bath: { ...bench.bath!, uniformityMk: 4 } }
    const { changes } = foretell({ ...from, bench: wide, plan: bare })
    const exchange = changes.find((c) => c.id === 'exchange')!
    expect(exchange.words).toMatch(
      /^An exchange of positions at 15(\.0+)? °C and 95(\.0+)? °C: .* \d+\.\d+ to \d+\.\d+ mK.*; .* more\.$/,
    )
    for (const { fromMk, toMk } of exchange.moved) expect(toMk).toBeLessThan(fromMk)
    expect(changes.find((c) => c.id === 'setpoint')!.words).toMatch(
      /^A sixth point at 25 °C: no gain; \d+ min more\.$/,
    )
  })

  it('says that nothing is known of repeatability before the first night', () => {
    const first = foretell({ ...from, nights: [] })
    expect(first.remarks[0]).toMatch(/how readings repeat is not known and not in these figures/)
    const least = (f: typeof first) => Math.min(...f.results.flatMap((r) => r.at.map((a) => a.expandedMk)))
    expect(least(first)).toBeLessThan(least(foretell(from)))
  })

  it('refuses in words where a bench cannot be analysed, and one thermometer of which nothing is known', () => {
    const none = { ...bench, channels: bench.channels.filter((c) => c.role !== 'reference') }
    expect(foretell({ ...from, bench: none }).refusal).toMatch(/role of the reference thermometer/)
    const unknown = {
      ...register,
      thermometers: register.thermometers.map((t) =>
        t.id === 'prt-1031' ? { ...t, kind: 'other' as const, calibrations: [] } : t,
      ),
    }
    const found = foretell({ ...from, register: unknown }).results.find((r) => r.channel === 'prt')!
    expect(found.at).toEqual([])
    expect(found.refusal).toMatch(/Nothing is known yet of how its signal goes with temperature/)
  })

  it('asks of no change that the plan has already made', () => {
    const faces = {
      ...{ thermometers: 4, hasResistance: true, hasStandardReference: true },
      repeatabilityKnown: true,
    }
    expect(planChanges(bare, { ...faces, repeatabilityKnown: false }).map((c) => c.id)).not.toContain(
      'cycles',
    )
    expect(planChanges(bare, faces).map((c) => c.id)).toEqual([
      'exchange',
      'lift',
      'pairs',
      'first-again',
      'wtp',
      'cycles',
      'setpoint',
    ])
    expect(planChanges(from.plan, faces).map((c) => c.id)).toEqual(['cycles', 'setpoint'])
    expect(
      planChanges({ ...bare, setpoints: bare.setpoints.slice(0, 1) }, faces).map((c) => c.id),
    ).not.toContain('setpoint')
  })
})

describe('stepTimeS', () => {
  const rule = bare.settling
  const step = { fromC: 20, toC: 40, tookS: 1500, travelS: 300, timeConstantS: 100, rule }

  it('is null for a direction in which the bath has not gone, and near what it did where it has', () => {
    expect(stepTimeS([], 20, 40, rule)).toBeNull()
    expect(stepTimeS([step], 40, 20, rule)).toBeNull()
    expect(stepTimeS([step, step, step], 20, 40, rule)! / 1500).toBeCloseTo(1, 1)
  })

  it('takes a step whose way was not told apart for no longer on its way than its length wants', () => {
    const untold = { ...step, travelS: null }
    const short = { ...untold, toC: 21, tookS: 5000 }
    // A step of one kelvin that rested for long says little of the way of twenty.
    expect(stepTimeS([short, short, short], 20, 40, rule)!).toBeLessThan(
      stepTimeS([{ ...short, travelS: 4000 }], 20, 40, rule)!,
    )
    const long = stepTimeS([untold, untold, untold], 20, 40, rule)! / 1500
    expect(long).toBeGreaterThan(0.8)
    expect(long).toBeLessThan(1.3)
    // Its length at the usual pace: 20 K at 20 s, and the rest of its time stands still.
    const told = { ...untold, tookS: 5000, travelS: 400 }
    const alike = { ...untold, tookS: 5000 }
    expect(stepTimeS([alike], 20, 40, rule)!).toBeCloseTo(stepTimeS([told], 20, 40, rule)!, 9)
    expect(stepTimeS([alike], 20, 30, rule)!).toBeCloseTo(stepTimeS([told], 20, 30, rule)!, 9)
  })

  it('waits longer for a stricter rule, by the time constant of the bath', () => {
    const wait = (driftMkPerMin: number) => stepTimeS([step, step, step], 20, 40, { ...rule, driftMkPerMin })!
    expect(wait(0.25) - wait(0.5)).toBeGreaterThan(0.8 * 100 * Math.LN2)
    expect(wait(0.25) - wait(0.5)).toBeLessThan(100 * Math.LN2)
  })

  it('finds way and time constant of an exponential approach', () => {
    const timesS = Array.from({ length: 600 }, (_, i) => i * 10)
    const found = approachOf(
      timesS,
      timesS.map((t) => 50 - 20 * Math.exp(-t / 150)),
    )
    expect(found.timeConstantS! / 150).toBeCloseTo(1, 1)
    expect(found.travelS! / (150 * Math.log(40))).toBeCloseTo(1, 1)
    expect(approachOf([0, 1], [20, 20]).timeConstantS).toBeNull()
  })
})

describe('estimatePlan', () => {
  it('counts what hands do, and R(WTP) before the first setpoint', () => {
    const guided = {
      ...bare,
      wtpCheck: true,
      setpoints: bare.setpoints.map((s, i) => (i === 0 ? { ...s, exchange: true, lift: true } : s)),
    }
    const steps = estimatePlan(guided, BENCH, 23, paceOf([]))
    expect(steps[0]!.startS).toBeGreaterThan(1800)
    expect(steps[0]!.actsS).toBeGreaterThan(2 * 1200)
    expect(steps[1]!.actsS).toBe(0)
  })
})

describe('exchangedPlaces', () => {
  it('moves everybody on by one, and back home the next time', () => {
    const home = ownPlaces(['a', 'b', 'c'])
    const away = exchangedPlaces(home)
    expect(away.map((p) => p.place)).toEqual(['place 2', 'place 3', 'place 1'])
    expect(exchangedPlaces(away)).toEqual(home)
  })
})
