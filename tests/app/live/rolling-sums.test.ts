import { describe, expect, it } from 'vitest'
import { RollingSums } from '../../../app/live/rolling-sums.ts'
import { Track } from '../../../app/live/track.ts'
import { randomStream } from '../../../simulator/physics/randomness.ts'

const WINDOW_S = 120

describe('RollingSums', () => {
  it('stays within its own bounds of the sums worked out afresh, through a large step and dropped readings', () => {
    const noise = randomStream(1, 'sums')
    const track = new Track(150)
    const sums = new RollingSums()
    for (let t = 0; t < 4000; t++) {
      const celsius = (t < 2000 ? 20 : 400) + 0.001 * noise.normal()
      track.push(t, t % 211 === 5 ? Number.NaN : celsius, t % 17 !== 0)
      expect(sums.follow(track, t - WINDOW_S, t)).toBe(true)
      const kept = Array.from(track.timesS, (time, i) => ({
        time,
        celsius: track.celsius[i]!,
        counts: track.counts[i]!,
      })).filter((r) => r.time >= t - WINDOW_S && r.counts === 1 && Number.isFinite(r.celsius))
      expect(sums.n).toBe(kept.length)
      if (kept.length < 2) continue
      const n = kept.length
      const meanT = kept.reduce((sum, r) => sum + r.time / n, 0)
      const meanC = kept.reduce((sum, r) => sum + (r.celsius - sums.zeroC) / n, 0)
      const xx = kept.reduce((sum, r) => sum + (r.celsius - sums.zeroC - meanC) ** 2, 0)
      const tt = kept.reduce((sum, r) => sum + (r.time - meanT) ** 2, 0)
      const tx = kept.reduce((sum, r) => sum + (r.time - meanT) * (r.celsius - sums.zeroC - meanC), 0)
      expect(Math.abs(sums.xx - sums.x ** 2 / n - xx)).toBeLessThanOrEqual(sums.errorXx)
      expect(Math.abs(sums.tx - (sums.t * sums.x) / n - tx)).toBeLessThanOrEqual(sums.errorTx)
      expect(Math.abs(sums.tt - sums.t ** 2 / n - tt)).toBeLessThanOrEqual(sums.errorTt)
    }
    // Long after the step its rounding is gone: the bound is far below what a millikelvin of noise adds up to.
    expect(sums.errorXx).toBeLessThan(1e-9)
  })

  it('goes through the window afresh once the window has passed, and no oftener', () => {
    const track = new Track(400)
    const sums = new RollingSums()
    const afresh: number[] = []
    for (let t = 0, zeroC = Number.NaN; t < 2000; t++) {
      track.push(t, 20 + 0.001 * t, true)
      sums.follow(track, t - WINDOW_S, t)
      // The origin is the first value of the window at the time: no two are alike.
      if (sums.zeroC !== zeroC) afresh.push(t)
      zeroC = sums.zeroC
    }
    const gaps = afresh.slice(1).map((t, i) => t - afresh[i]!)
    expect(gaps.length).toBeGreaterThan(5)
    for (const gap of gaps) {
      expect(gap).toBeGreaterThan(WINDOW_S)
      expect(gap).toBeLessThan(2.5 * WINDOW_S)
    }
  })

  it('does not follow times that go back or lie ahead', () => {
    const sums = new RollingSums()
    expect(sums.follow({ timesS: [0, 2, 1], celsius: [1, 1, 1], counts: [1, 1, 1] }, 0, 2)).toBe(false)
    expect(sums.follow({ timesS: [0, 1, 9], celsius: [1, 1, 1], counts: [1, 1, 1] }, 0, 2)).toBe(false)
    expect(sums.follow({ timesS: [0, 1, 2], celsius: [1, 1, 1], counts: [1, 1, 1] }, 0, 2)).toBe(true)
    expect(sums.n).toBe(3)
  })
})
