import { describe, expect, it } from 'vitest'
import { readingsIn } from '../../../app/plan/count-readings.ts'
import { USUAL_PACE } from '../../../app/plan/estimate.ts'
import { BENCH } from '../results/bench-fixture.ts'

const [ref, x] = BENCH.channels
const count = (channels: readonly object[], more: object = {}) =>
  readingsIn(3600, { ...BENCH, scanEveryS: 0, channels, ...more } as typeof BENCH, USUAL_PACE)

describe('readingsIn', () => {
  // One visit of the fixture's channels takes 4 s and a reading of half a second.
  const quiet = { ...ref, settleMs: 0 }

  it('counts what a scan brings by how long it takes', () => {
    expect(count([quiet])).toBe(7200)
    expect(count([{ ...quiet, readings: 4 }])).toBe(7200)
    expect(count([quiet], { scanEveryS: 10 })).toBe(360)
    expect(count([])).toBe(0)
    // Another bridge reads beside it.
    expect(count([quiet, { ...quiet, id: 'two', instrument: 'second' }])).toBe(14_400)
    expect(count([quiet, { ...quiet, id: 'two', enabled: false }])).toBe(7200)
    expect(count([quiet], { bath: { ...BENCH.bath, instrument: 'bath' } })).toBe(7200 + 360)
  })

  it('counts the reading that closes another input or raises a current, unless one is discarded anyway', () => {
    const scanS = 9
    const each = (own: object, other: object = {}) =>
      (count([
        { ...ref, ...own },
        { ...x, ...other },
      ]) *
        scanS) /
      3600
    // Each of the two closes its input: two readings for one.
    expect(each({})).toBe(4)
    expect(each({ settleMs: 0 })).toBeCloseTo((3 * scanS) / 5, 9)
    expect(each({ input: 2 })).toBe(2)
    // The higher current is set, the lower one lowered first, on an input that is closed already.
    expect(each({ input: 2, currentMa: 2 })).toBe(4)
    expect(each({ currentMa: 2 })).toBe(5)
    expect(each({ discard: 1 })).toBeCloseTo((4 * scanS) / 9.5, 2)
    expect(each({ discard: 2 })).toBeCloseTo((5 * scanS) / 10, 2)
  })
})
