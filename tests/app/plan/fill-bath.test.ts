import { describe, expect, it } from 'vitest'
import { type BathRoom, fillBath, ownSetpoints, type Waiting, wantedC } from '../../../app/plan/fill-bath.ts'
import { Item } from '../../../app/records/order.ts'
import { Thermometer } from '../../../app/records/register.ts'

const waiting = (
  id: string,
  asked: { lowC: number; highC: number; points?: number[] },
  bears = [-50, 250],
): Waiting => ({
  item: Item.parse({ id, order: `o-${id}`, customer: `c-${id}`, thermometer: `t-${id}`, asked }),
  thermometer: Thermometer.parse({
    id: `t-${id}`,
    name: `PRT ${id}`,
    kind: 'prt',
    lowC: bears[0],
    highC: bears[1],
  }),
})
const room = (channels = 4, range = [-20, 140]): BathRoom => ({
  lowC: range[0]!,
  highC: range[1]!,
  channels: Array.from({ length: channels }, (_, i) => ({ id: `x${i + 1}`, name: `X${i + 1}` })),
})

describe('wantedC', () => {
  it('takes the temperatures that are named, else spreads over the range', () => {
    expect(wantedC(waiting('a', { lowC: 0, highC: 100, points: [100, 0, 50] }).item)).toEqual([0, 50, 100])
    expect(wantedC(waiting('a', { lowC: 0, highC: 100 }).item)).toEqual([0, 25, 50, 75, 100])
    expect(wantedC(waiting('a', { lowC: 25, highC: 25 }).item)).toEqual([25])
  })
})

describe('fillBath', () => {
  it('puts items of several orders into one night and joins their setpoints', () => {
    const a = waiting('a', { lowC: 0, highC: 100, points: [0, 50, 100] })
    const b = waiting('b', { lowC: 20, highC: 60, points: [20, 50.2, 60] })
    const fill = fillBath([a, b], room())
    expect(fill.placed).toEqual([
      { item: 'a', channel: 'x1' },
      { item: 'b', channel: 'x2' },
    ])
    expect(fill.setpoints).toEqual([0, 20, 50, 60, 100])
    expect(ownSetpoints(a.item, fill.setpoints)).toEqual([0, 50, 100])
    expect(ownSetpoints(b.item, fill.setpoints)).toEqual([20, 50, 60])
  })

  it('leaves out what the bath or the thermometer does not hold, and says why', () => {
    const { placed, left } = fillBath(
      [waiting('hot', { lowC: 0, highC: 200 }), waiting('frail', { lowC: 0, highC: 120 }, [-10, 90])],
      room(),
    )
    expect(placed).toEqual([])
    expect(left.map(({ words }) => words)).toEqual([
      'Asked for 0 to 200 °C; this bath holds -20 to 140 °C.',
      'Asked for 0 to 120 °C; the thermometer itself is for -10 to 90 °C.',
    ])
  })

  it('never takes a thermometer beyond what it bears for the sake of another', () => {
    const frail = waiting('frail', { lowC: 0, highC: 60 }, [-10, 80])
    const wide = waiting('wide', { lowC: 0, highC: 120 })
    for (const order of [
      [frail, wide],
      [wide, frail],
    ]) {
      const { placed, left, setpoints } = fillBath(order, room())
      expect(placed.map(({ item }) => item)).toEqual([order[0]!.item.id])
      expect(left[0]!.words).toMatch(/beyond what PRT frail bears/)
      if (order[0] === frail) expect(Math.max(...setpoints)).toBeLessThanOrEqual(80)
    }
  })

  it('gives a thermometer the channel that names it already, and stops when channels run out', () => {
    const channels = [
      { id: 'x1', name: 'X1', thermometer: 't-b' },
      { id: 'x2', name: 'X2' },
    ]
    const items = ['a', 'b', 'c'].map((id) => waiting(id, { lowC: 0, highC: 50 }))
    const { placed, left } = fillBath(items, { ...room(), channels })
    expect(placed).toEqual([
      { item: 'a', channel: 'x2' },
      { item: 'b', channel: 'x1' },
    ])
    expect(left).toEqual([{ item: 'c', words: 'Every channel for a thermometer under test is taken.' }])
  })
})
