import { describe, expect, it } from 'vitest'
import type { ChannelView, WaterState } from '../../../app/contract/views.ts'
import { columnsFor, onTheWall, unsettled } from '../../../renderer/watch/wall.model.ts'

const channel = (id: number, role: ChannelView['role'], state: WaterState = 'flat') =>
  ({ id: `ch-${id}`, role, settling: { state } }) as unknown as ChannelView
const many = (states: Record<number, WaterState> = {}, count = 40) =>
  Array.from({ length: count }, (_, i) =>
    channel(i, i === 0 ? 'reference' : i === 1 ? 'check' : 'under-test', states[i]),
  )
const ids = (channels: readonly ChannelView[]) => channels.map(({ id }) => id)

describe('onTheWall', () => {
  it('shows every channel while there are few', () => {
    expect(onTheWall(many({}, 12))).toHaveLength(12)
  })

  it('shows of many the reference, the check and what is wrong, faults and silence before what still moves', () => {
    expect(ids(onTheWall(many({ 7: 'choppy', 20: 'crossed', 30: 'broken' })))).toEqual([
      'ch-0',
      'ch-1',
      'ch-20',
      'ch-30',
      'ch-7',
    ])
  })

  it('never shows more than can be read, however much is wrong', () => {
    const all = Object.fromEntries(Array.from({ length: 40 }, (_, i) => [i, 'broken' as const]))
    expect(onTheWall(many(all))).toHaveLength(12)
  })
})

describe('unsettled', () => {
  it('passes over monitors', () => {
    expect(unsettled([channel(1, 'monitor', 'choppy'), channel(2, 'check', 'choppy')])).toHaveLength(1)
  })
})

describe('columnsFor', () => {
  it('puts numbers side by side in a wide room and below each other in a narrow one', () => {
    expect(columnsFor(2, 8, 1)).toBe(1)
    expect(columnsFor(2, 8, 4)).toBe(2)
    expect(columnsFor(8, 8, 5)).toBeGreaterThan(columnsFor(8, 8, 1))
    expect(columnsFor(12, 8, 0.2)).toBe(1)
    expect(columnsFor(1, 8, 2.4)).toBe(1)
  })

  it('takes fewer columns for longer numbers', () => {
    expect(columnsFor(9, 14, 3)).toBeLessThanOrEqual(columnsFor(9, 6, 3))
  })
})
