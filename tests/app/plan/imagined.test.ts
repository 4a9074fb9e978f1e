import { describe, expect, it } from 'vitest'
import type { EarlierChannel, EarlierNight } from '../../../app/plan/earlier-night.ts'
import { type ImaginedFrom, imaginedSession } from '../../../app/plan/imagined.ts'
import { Plan } from '../../../app/records/plan.ts'
import { BENCH, REGISTER } from '../results/bench-fixture.ts'

const plan = (setpoints: readonly object[], more: object = {}) =>
  Plan.parse({
    ...{ id: 'p', name: 'P', order: 'symmetric', cycles: 3, setpoints },
    settling: { windowS: 600, driftMkPerMin: 0.5, spreadMk: 2, bandK: 0.1, holdS: 300 },
    ...more,
  })
const imagined = (own: Plan, more: Partial<ImaginedFrom> = {}) =>
  imaginedSession({
    ...{ plan: own, bench: BENCH, register: REGISTER, date: '2025-07-01' },
    ...{ nights: [], options: {} },
    ...more,
  })
const seen = (id: string, thermometer: string, more: Partial<EarlierChannel>): EarlierChannel => ({
  ...{ channel: { id, instrument: 'bridge', role: id === 'ref' ? 'reference' : 'under-test', thermometer } },
  ...{ kind: thermometer, rawUnit: 'ratio', inBath: null, inCell: null, heldS: 0, driftMkPerMin: 0 },
  ...{ heating: null, memoryMkPerK: null, liftMk: null, insulationOhm: null },
  ...more,
})
const night = (channels: readonly EarlierChannel[], placesMk: number | null = null): EarlierNight => ({
  ...{ session: 's', endedUtcUs: 0, channels, placesMk },
  ...{ steps: [], slower: [], slowerWithPairs: [], actsS: [] },
})

describe('imaginedSession', () => {
  it('has a point for each setpoint, exchange and lift, and R(0.01 °C) before and after', () => {
    const ids = (own: Plan) => imagined(own).input.points.map(({ id }) => id)
    const steps = [{ celsius: 20, exchange: true, lift: true }, { celsius: 60 }]
    expect(ids(plan(steps))).toEqual(['point-1', 'point-1-exchanged', 'point-1-lifted', 'point-2'])
    expect(ids(plan(steps.slice(1), { wtpCheck: true }))).toEqual(['wtp-before', 'point-1', 'wtp-after'])
  })

  it('has what a tester of insulation shows where the plan wants it, as earlier nights saw it', () => {
    expect(imagined(plan([{ celsius: 20 }])).input.events).toEqual([])
    const { events } = imagined(plan([{ celsius: 20 }], { insulationCheck: true }), {
      nights: [night([seen('x', 'prt', { insulationOhm: 2e8 })])],
    }).input
    expect(events.map(({ n, subject, data }) => [n, subject, (data as { ohm: number }).ohm])).toEqual([
      [1, 'ref', 1e9],
      [2, 'x', 2e8],
      [3, 'y', 2e8],
    ])
  })

  it('reads each thermometer as often as the order of the point does, at the temperature it has', () => {
    const [point] = imagined(plan([{ celsius: 50 }])).input.points
    const channels = Object.fromEntries(point!.channels.map((c) => [c.channel, c]))
    // S X Y Y X S, three times.
    expect(Object.values(channels).map(({ n }) => n)).toEqual([6, 6, 6])
    // IEC 60751:2022, table of Pt100 at 50 degC: 119.397 ohm (from memory), over the resistor of 100.0012 ohm.
    expect(channels.x!.rawMean).toBeCloseTo(119.397 / 100.0012, 4)
    expect(channels.x!).toMatchObject({
      rawUnit: 'ratio',
      referenceC: 50,
      t90C: null,
      nEffective: Number.POSITIVE_INFINITY,
    })
    expect(channels.ref!.t90C).toBe(50)
  })

  it('lets a thermometer remember the hottest point on the way down, and lean where it is lifted', () => {
    const nights = [night([seen('x', 'prt', { memoryMkPerK: 0.1, liftMk: 5 })])]
    const own = plan([{ celsius: 20 }, { celsius: 100 }, { celsius: 20 }, { celsius: 60, lift: true }])
    const { points } = imagined(own, { nights }).input
    const without = imagined(own).input.points
    const moved = points.map(({ channels }, i) => channels[1]!.signal! - without[i]!.channels[1]!.signal!)
    // Slope of IEC 60751 at t: R0 (A + 2 B t). 80 K and 40 K below the hottest at 0.1 mK/K are 8 mK and 4 mK.
    const ohm = (mk: number, t: number) => mk * 1e-3 * 100 * (3.9083e-3 - 2 * 5.775e-7 * t)
    for (const [i, expected] of [0, 0, ohm(8, 20), ohm(4, 60), ohm(4 + 5, 60)].entries())
      expect(moved[i]).toBeCloseTo(expected, 7)
    for (const [i, { channels }] of points.entries()) expect(channels[0]).toEqual(without[i]!.channels[0])
  })
})
