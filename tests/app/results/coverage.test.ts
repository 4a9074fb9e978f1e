import { describe, expect, it } from 'vitest'
import { buildPoint } from '../../../app/live/point.ts'
import { type Plan, READING_ORDERS } from '../../../app/records/plan.ts'
import type { Reading } from '../../../app/records/reading.ts'
import { analyse } from '../../../app/results/analysis.ts'
import { prepare } from '../../../app/thermometry/convert.ts'
import {
  biasMk,
  chainsOf,
  KINDS,
  nightsInOrder,
  percent,
  readInOrder,
  type Tally,
  tally,
  together,
  VISITS,
} from '../../report/coverage-nights.ts'
import { type Simulation, simulate } from '../../report/fixture.ts'

const NIGHTS = 100
const LOOK_AT = [2, 25, 50, 75, 98]

function* nights(choices: Parameters<typeof simulate>[0]): Generator<Simulation> {
  for (let seed = 1; seed <= NIGHTS; seed++) yield simulate({ ...choices, seed })
}

/** The nights without a cell are looked at twice and drawn once. */
let withoutCell: Map<string, Tally> | undefined
const tallyOf = (cell: 'all' | 'under-test' | 'none') => {
  if (cell !== 'none') return tally(nights({ cell }))
  withoutCell ??= tally(nights({ cell }))
  return withoutCell
}

describe('expanded uncertainty', () => {
  it.each(['all', 'under-test', 'none'] as const)(
    'holds the truth about as often as it says, with a water cell for %s',
    (cell) => {
      for (const [key, at] of tallyOf(cell)) {
        // 100 nights at 95.45 %: the count of one coefficient has a standard deviation of 2.1 %.
        expect(percent(at), key).toBeGreaterThan(88)
        expect(percent(at), key).toBeLessThanOrEqual(100)
      }
    },
  )

  it('is not bought by being far too large: some truths lie outside', () => {
    const all = percent(together(tallyOf('none').values()))
    expect(all).toBeGreaterThan(93)
    expect(all).toBeLessThan(99)
  })

  it('would not hold if the common errors were taken as independent', () => {
    let inside = 0
    let tries = 0
    for (const { input, truth } of nights({ cell: 'none' })) {
      const { thermometers } = analyse({ ...input, options: { monteCarloTrials: 0 } })
      const { fit } = thermometers.find((t) => t.record.channel.id === 'x1')!
      const own = prepare(truth.conversions.x1!)
      for (const t of LOOK_AT) {
        const error = (fit!.prepared.toTemperature(own.toSignal(t).value).value - t) * 1e3
        const naive = 2 * 1e3 * fit!.fit.temperatureUncertainty(t)
        if (Math.abs(error) <= naive) inside++
        tries++
      }
    }
    expect((100 * inside) / tries).toBeLessThan(90)
  })
})

/** A bath that drifts: the reference temperature an order gives the last thermometer, against means taken as if it stood still. */
function drifting(order: Plan['order'], driftMkPerMin: number) {
  const simulation = simulate({ errors: 0, cell: 'none', setpoints: [50] })
  const chains = chainsOf(simulation)
  const origin = simulation.input.points[0]!
  const readings = readInOrder(simulation, origin, order, driftMkPerMin, 1)
  const { channels, startUtcUs: _s, endUtcUs: _e, ...head } = origin
  const point = buildPoint({ bench: simulation.input.setup.bench, chains, readings }, head)
  const last = channels.at(-1)!.channel
  const meanOf = (channel: string, of: (r: Reading) => number) => {
    const own = readings.filter((r) => r.channel === channel)
    return own.reduce((sum, r) => sum + of(r), 0) / own.length
  }
  const celsius = (value: number) => chains.get('s0')!.convert(value, 'ratio', null).celsius
  const middleS = readings.at(-1)!.monoUs / 2e6
  const restC = celsius(channels.find((c) => c.channel === 's0')!.rawMean)
  const trueC = restC + (driftMkPerMin * (meanOf(last, (r) => r.monoUs / 1e6) - middleS)) / 60e3
  return {
    interpolatedMk: (point.channels.find((c) => c.channel === last)!.referenceC! - trueC) * 1e3,
    naiveMk: (meanOf('s0', (r) => celsius(Number(r.value))) - trueC) * 1e3,
  }
}

describe('orders of reading in a drifting bath', () => {
  it.each(['symmetric', 'interleaved'] as const)('cancel a steady drift (%s)', (order) => {
    expect(Math.abs(drifting(order, 6).interpolatedMk)).toBeLessThan(0.05)
  })

  it('leave a naive sequence with the drift in its result', () => {
    expect(Math.abs(drifting('sequence', 6).naiveMk)).toBeGreaterThan(5)
    expect(Math.abs(drifting('symmetric', 6).naiveMk)).toBeLessThan(0.05)
  })

  it('take most of it off even in a plain sequence, by interpolating the reference', () => {
    const { interpolatedMk, naiveMk } = drifting('sequence', 6)
    expect(Math.abs(interpolatedMk)).toBeLessThan(Math.abs(naiveMk) / 2)
  })

  it.each(
    READING_ORDERS.flatMap((order) =>
      (Object.keys(VISITS) as (keyof typeof VISITS)[]).map((visits) => ({ order, visits })),
    ),
  )(
    'keep the truth of every kind of thermometer within U, at the drift the settling rule allows ($order, $visits)',
    ({ order, visits }) => {
      const found = tally(nightsInOrder({ order, visits, driftMkPerMin: 0.5 }, 1, 16))
      for (const channel of Object.keys(KINDS)) {
        for (const what of ['curve', 'point']) {
          // 16 nights whose temperatures share their errors: a standard deviation of 4 to 5 %.
          expect(percent(found.get(`${channel} ${what}`)!), `${channel} ${what}`).toBeGreaterThan(80)
        }
      }
      expect(percent(together(found.values()))).toBeGreaterThan(90)
    },
  )

  it('leave the result alone in a bath that drifts one way, where a naive sequence moves it by the drift', () => {
    const bias = (order: Plan['order'], naive: boolean) =>
      biasMk(nightsInOrder({ order, visits: 'up', driftMkPerMin: 6, oneWay: true, naive }, 1, 5), 'x4')
    const still = biasMk(nightsInOrder({ order: 'symmetric', visits: 'up', driftMkPerMin: 0 }, 1, 5), 'x4')
    expect(Math.abs(bias('sequence', true) - still)).toBeGreaterThan(4)
    expect(Math.abs(bias('symmetric', true) - still)).toBeLessThan(0.2)
    expect(Math.abs(bias('symmetric', false) - still)).toBeLessThan(0.2)
    expect(Math.abs(bias('interleaved', false) - still)).toBeLessThan(0.2)
  })
})
