import { describe, expect, it } from 'vitest'
import { runNight } from '../soak/night.ts'

describe('a night with faults', () => {
  it.each([1, 2, 3, 4])(
    'number %i ends complete, complete with marks, or safely stopped with a reason, and nothing in it is wrong or lost',
    async (seed) => {
      const night = await runNight(9_000 + seed)
      expect(['complete', 'complete-with-marks', 'stopped-safely'], night.reason).toContain(night.ending)
      expect(night.reason).toMatch(/\.$/)
      expect(night.wrong).toEqual([])
      expect(night.lost).toBe(0)
      expect(Object.keys(night.faults).length).toBeGreaterThan(0)
    },
    60_000,
  )

  it('would be noticed if it lost a reading or took a wrong point', async () => {
    // The judge itself must be able to fail: the same night with the file and the truth disagreeing.
    const night = await runNight(9_001, undefined, 'silent', (_, follower) => {
      const [first] = follower.shown.keys()
      follower.shown.set(first!, 'something else')
      for (const [seq, truth] of follower.truth)
        follower.truth.set(seq, { place: truth.place + 1, element: truth.element + 1 })
    })
    expect(night.lost).toBe(1)
    expect(night.wrong.length).toBeGreaterThan(0)
  }, 60_000)
})
