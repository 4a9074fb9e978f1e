import { describe, expect, it } from 'vitest'
import { tableOf } from '../../../renderer/watch/table.ts'

const lines = [
  { channel: 'a', name: 'A', look: 0 },
  { channel: 'b', name: 'B', look: 1 },
]
const tracks = new Map([
  ['a', { t: Float64Array.of(1, 3), v: Float64Array.of(10, Number.NaN) }],
  ['b', { t: Float64Array.of(2, 4), v: Float64Array.of(20, 21) }],
])

describe('tableOf', () => {
  it('puts readings in time order, one column a channel, and leaves out what has no number', () => {
    expect(tableOf({ lines, unit: 'mK' }, tracks, 10).split('\n')).toEqual([
      'UTC\tA / mK\tB / mK',
      '1970-01-01T00:00:01.000Z\t10\t',
      '1970-01-01T00:00:02.000Z\t\t20',
      '1970-01-01T00:00:04.000Z\t\t21',
    ])
  })

  it('takes no more of each channel than it may', () => {
    expect(tableOf({ lines, unit: 'mK' }, tracks, 1).split('\n')).toHaveLength(3)
  })
})
